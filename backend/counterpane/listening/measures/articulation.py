"""Articulation: how notes are joined to the next, by overlap or gap.

Definition
    For neighbouring notes of one voice in one pass, with no rest written between them: gap = next onset minus
    release (negative: overlap). `share` is the gap as a share of the played inter-onset interval.
Unit
    Milliseconds; share of the interval.
Formula
    value = median of gap / interval. `kind`: "joined" up to 0.06, "staccato" from 0.45, "detached" between.
Conventions
    Repeated keys cannot overlap and are left out; so are chords, ornaments, notes after grace notes, notes
    whose release is not known, and intervals with a hesitation in them. At least six pairs a hand.
Source
    Bresin and Battel (2000), "Articulation strategies in expressive piano performance", Journal of New Music
    Research 29: overlap and detachment as ratios of the inter-onset interval. The limits are ours, from
    memory of their figures for legato and staccato.
Differences from the source
    One signed share instead of two ratios, so that legato and staccato lie on one line.
What it cannot know
    What the pedal joined (`pedal` says whether it was used), and the acoustics of the room.
"""

from __future__ import annotations

import numpy as np

from counterpane.listening.measures.heard import Heard
from counterpane.listening.measures.joins import Join
from counterpane.listening.measures.shape import Measured, measured, unmeasured
from counterpane.listening.measures.thresholds import LEGATO_SHARE, STACCATO_SHARE
from counterpane.model.piece import Hand

UNIT = "share of the interval"
FEWEST = 6


def articulation(heard: Heard) -> Measured:
    """Return the median gap between neighbouring notes, for each hand in ms and as a share of the interval."""
    by_hand: dict[Hand, list[Join]] = {
        hand: [join for one in heard.passes for join in heard.joins(one, hand)] for hand in heard.sheet.hands
    }
    return _summary([join for group in by_hand.values() for join in group]) | {
        "pedal": any(change.down for change in heard.performance.pedal),
        "by_hand": {hand: _summary(group) for hand, group in by_hand.items()},
    }


def _summary(group: list[Join]) -> Measured:
    if len(group) < FEWEST:
        return unmeasured(UNIT, "Fewer than 6 pairs of neighbouring notes to compare.", len(group))
    shares = np.array([join.share for join in group])
    middle = float(np.median(shares))
    return measured(
        middle,
        UNIT,
        len(group),
        gap_ms=float(np.median([join.gap_ms for join in group])),
        spread=float(np.percentile(shares, 75) - np.percentile(shares, 25)),
        overlapped=float((shares < 0).mean()),
        kind="joined" if middle <= LEGATO_SHARE else "staccato" if middle >= STACCATO_SHARE else "detached",
    )
