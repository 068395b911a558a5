"""Note by note: how far each one is from the local tempo of its hand, for pictures and for finding the place.

Unit
    Milliseconds; late is positive.
Conventions, source and limits as in evenness.py, which sums up what is told apart here.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from counterpane.listening.measures.hand_line import HandLine
from counterpane.listening.measures.heard import Heard
from counterpane.listening.measures.tempo_line import Mask
from counterpane.model.piece import Hand


@dataclass(frozen=True, slots=True)
class Deviation:
    """One note against the local tempo: `ms` late (negative: early), `interval_ms` expected since the last note.

    `strayed_ms` is how much longer that interval was than expected, or None where a pause or a gap lies before.
    """

    hand: Hand
    onset: float
    ms: float
    interval_ms: float
    strayed_ms: float | None


@dataclass(frozen=True, slots=True)
class Spread:
    """SD of one hand's intervals in one measure about the local tempo, over all passes."""

    measure: int
    sd_ms: float
    intervals: int


def deviations(heard: Heard, hand: Hand) -> list[Deviation]:
    """Return every usable note's deviation in one hand, in the order of playing."""
    return [deviation for line in heard.hand_lines[hand] for deviation in _along(heard, hand, line)]


def measure_spreads(heard: Heard, hand: Hand) -> list[Spread]:
    """Return the SD of one hand's intervals in each measure that has a usable one."""
    squares: dict[int, list[float]] = defaultdict(list)
    for one in deviations(heard, hand):
        if one.strayed_ms is not None:
            squares[heard.sheet.measure_number(one.onset)].append(one.strayed_ms**2)
    return [
        Spread(number, (sum(group) / len(group)) ** 0.5, len(group)) for number, group in sorted(squares.items())
    ]


def usable_intervals(heard: Heard, hand: Hand, line: HandLine) -> Mask:
    """Tell which intervals join neighbouring notes of the hand, with no pause and no displaced note between."""
    written = heard.sheet.rank_in_hand[hand]
    ranks = np.array([written[onset] for onset in line.onsets.tolist()])
    usable: Mask = (np.diff(ranks) == 1) & line.kept[1:] & line.kept[:-1]
    usable[line.breaks - 1] = False
    return usable


def _along(heard: Heard, hand: Hand, line: HandLine) -> list[Deviation]:
    written = np.diff(line.along, prepend=2 * line.along[0] - line.along[1])
    expected = written * line.line.quarter_ms(line.along)
    strayed = [None, *np.diff(line.residuals_ms).tolist()]
    usable = [False, *usable_intervals(heard, hand, line).tolist()]
    return [
        Deviation(hand, onset, ms, interval, longer if counts else None)
        for onset, ms, interval, longer, counts in zip(
            line.onsets.tolist(), line.residuals_ms.tolist(), expected.tolist(), strayed, usable, strict=True
        )
    ]
