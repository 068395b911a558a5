"""Togetherness: how far apart the hands strike where the score has them together.

Definition
    At every onset written in both hands: the time of the left hand minus the right's. `value` is the median of
    its absolute value, `p90_ms` the 90th percentile. `lead_ms` is the signed median (positive: the right hand
    comes first) and `mean_ms` the signed mean; `leads` names the hand that leads when that is surer than chance.
Unit
    Milliseconds.
Formula
    leads: |lead| > max(one wire time, 2 * 1.253 * SD / sqrt(n)), the standard error of a median.
Conventions
    A chord counts with the median of its notes. Ornamented notes and those after grace notes are left out.
    At least four such onsets.
Source
    MIDI 1.0 (31,250 baud): a note takes 0.96 ms on the wire, so notes struck together arrive about 1 ms apart
    and are together: that much is taken off the absolute values. Goebl (2001): a melody about 30 ms ahead is
    ordinary expression.
Differences from the sources
    Goebl measured melody against accompaniment in chords; here it is hand against hand.
What it cannot know
    Whether a lead was meant; which of two hands is "right" when they differ.
"""

from __future__ import annotations

from collections import defaultdict
from statistics import median

import numpy as np

from counterpane.listening.measures.heard import Heard
from counterpane.listening.measures.shape import Measured, measured, unmeasured
from counterpane.listening.measures.thresholds import MELODY_LEAD_MS, WIRE_MS_A_NOTE

UNIT = "ms"
FEWEST = 4


def togetherness(heard: Heard) -> Measured:
    """Return median and 90th percentile of the asynchrony of the hands, who leads, and the measures apart."""
    if len(heard.sheet.hands) < 2:
        return unmeasured(UNIT, "Only one hand was asked to play.")
    pairs = [pair for one in heard.passes for pair in one.asynchronies]
    if len(pairs) < FEWEST:
        return unmeasured(UNIT, "Fewer than 4 places where both hands struck together.", len(pairs))
    signed = np.array([late for _, late in pairs])
    apart = np.maximum(np.abs(signed) - WIRE_MS_A_NOTE, 0.0)
    lead = float(np.median(signed))
    sure = abs(lead) > max(WIRE_MS_A_NOTE, 2 * 1.253 * float(signed.std(ddof=1)) / len(signed) ** 0.5)
    return measured(
        float(np.median(apart)),
        UNIT,
        len(pairs),
        p90_ms=float(np.percentile(apart, 90)),
        mean_ms=float(signed.mean()),
        lead_ms=lead,
        leads=("right" if lead > 0 else "left") if sure else None,
        ordinary_lead=bool(sure and abs(lead) <= MELODY_LEAD_MS),
        by_measure=_by_measure(heard, pairs),
    )


def _by_measure(heard: Heard, pairs: list[tuple[float, float]]) -> list[dict[str, float]]:
    groups: dict[int, list[float]] = defaultdict(list)
    for onset, late in pairs:
        groups[heard.sheet.measure_number(onset)].append(abs(late))
    return [
        {"measure": number, "median_ms": median(group), "places": len(group)}
        for number, group in sorted(groups.items())
    ]
