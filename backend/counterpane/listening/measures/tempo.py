"""Tempo: how fast, how steady, and whether it drifts.

Definition
    `value`: mean tempo, hesitations and jumps taken out. `share_of_goal`: that over the passage's tempo.
    `steadiness`: SD of the local tempo (the fitted line's slope at every onset) as a share of the mean.
    `drift`: by which share the tempo changed over the longest pass, along a straight line through it;
    positive is faster.
Unit
    Quarter notes a minute; shares.
Formula
    mean = 60,000 * sum of quarters / sum of ms over passes, steps of the line subtracted; local tempo =
    60,000 / slope; drift = exp(b * length) - 1, b the least-squares slope of log tempo over written time.
Conventions
    Passes of at least four onsets; drift and steadiness need eight.
Source
    Common practice, no source.
What it cannot know
    Changes of tempo inside four quarter notes (they are unevenness here), and whether a change was meant.
"""

from __future__ import annotations

from itertools import groupby

import numpy as np

from counterpane.listening.measures.heard import Heard, Pass
from counterpane.listening.measures.shape import Measured, measured, unmeasured
from counterpane.listening.measures.tempo_line import FEWEST_NOTES, Floats, TempoLine

UNIT = "quarters a minute"
FEWEST_FOR_DRIFT = 8


def tempo(heard: Heard) -> Measured:
    """Return the mean tempo, its share of the goal, steadiness, drift, and the tempo of each measure."""
    timed = [(one, one.line) for one in heard.passes if one.line is not None]
    quarters = sum(line.reach[1] - line.reach[0] for _, line in timed)
    spent = sum(_flowing_ms(one, line) for one, line in timed)
    if not timed or spent <= 0:
        return unmeasured(UNIT, f"Fewer than {FEWEST_NOTES} notes in one go: too few to know the tempo.")
    mean = 60_000 * quarters / spent
    longest, line = max(timed, key=lambda pair: len(pair[0].merged_onsets))
    enough = len(longest.merged_onsets) >= FEWEST_FOR_DRIFT
    local = 60_000 / line.quarter_ms(line.onsets)
    return measured(
        float(mean),
        UNIT,
        sum(len(one.merged_onsets) for one, _ in timed),
        goal=heard.passage.tempo,
        share_of_goal=float(mean / heard.passage.tempo),
        steadiness=float(local.std() / local.mean()) if enough else None,
        drift=_drift(line.onsets, local) if enough else None,
        by_measure=_by_measure(heard, longest, line),
    )


def _flowing_ms(one: Pass, line: TempoLine) -> float:
    times = [time for _, time in one.merged_onsets]
    return times[-1] - times[0] - sum(line.steps_ms)


def _drift(onsets: Floats, local: Floats) -> float:
    slope = np.polyfit(onsets, np.log(local), 1)[0]
    return float(np.expm1(slope * (onsets[-1] - onsets[0])))


def _by_measure(heard: Heard, one: Pass, line: TempoLine) -> list[dict[str, float]]:
    local = line.quarter_ms(line.onsets).tolist()
    numbered = [
        (heard.sheet.measure_number(onset), quarter)
        for (onset, _), quarter in zip(one.merged_onsets, local, strict=True)
    ]
    groups = ((number, [quarter for _, quarter in group]) for number, group in groupby(numbered, lambda p: p[0]))
    return [{"measure": number, "tempo": 60_000 * len(group) / sum(group)} for number, group in groups]
