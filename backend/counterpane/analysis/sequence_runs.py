"""Where a line repeats itself at a constant distance in time and in scale steps: the raw material of sequences.

A run of a line at period P and step s is a stretch in which nearly every note has a note P later that lies s
steps away, with no note between them that the model does not have. Method: for each period the step to the
partner of every note is an array; stretches of equal values are chained with one point for a match and two
lost for a miss, as a maximal scoring segment (Ruzzo and Tompa 1999, here with one pass and a limit to the gap).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from counterpane.analysis.steps import Ints, Line

WIDEST_STEP = 5
_WIDEST_GAP = 2
_MISS = 2
_LEAST_MATCHES = 2
NO_PARTNER = 999


@dataclass(frozen=True)
class Run:
    """Notes `first` to `last` of a line each have a partner `period` ticks later and `step` steps away.

    `start` is the onset of the first of them, `end` where the partner of the last one stops (ticks).
    """

    line: int
    period: int
    step: int
    first: int
    last: int
    start: int
    end: int


def find_runs(number: int, line: Line, period: int) -> Iterator[Run]:
    """Yield the runs of one line (the `number`th) at one period in ticks, steps 1 to 5 up or down."""
    partner, step = partners(line, line, period)
    values, counts = np.unique(step, return_counts=True)
    for value in values[counts >= _LEAST_MATCHES].tolist():
        if value != 0 and abs(value) <= WIDEST_STEP:
            for first, last in segments(np.flatnonzero(step == value), partner):
                if last - first + 1 >= _LEAST_MATCHES:
                    yield _run(number, line, period, value, first, last, partner)


def partners(line: Line, other: Line, lag: int) -> tuple[Ints, Ints]:
    """Return, for each note of `line`, which note of `other` comes `lag` ticks later, and how many steps higher.

    Where there is none the index is that of the next note and the step `NO_PARTNER`.
    """
    partner = np.searchsorted(other.onset, line.onset + lag)
    nearest = np.minimum(partner, len(other) - 1)
    found = (partner < len(other)) & (other.onset[nearest] == line.onset + lag)
    return partner, np.where(found, other.step[nearest] - line.step, NO_PARTNER)


def segments(matches: Ints, partner: Ints) -> Iterator[tuple[int, int]]:
    """Chain matching notes over short gaps; yield first and last index of each chain."""
    breaks = np.flatnonzero((np.diff(matches) > 1) | (np.diff(partner[matches]) > 1))
    begins = [0, *(breaks + 1).tolist()]
    ends = [*breaks.tolist(), len(matches) - 1]
    chains = [(int(matches[b]), int(matches[e]), e - b + 1) for b, e in zip(begins, ends, strict=True)]
    first, best_last, score, best = chains[0][0], chains[0][1], chains[0][2], chains[0][2]
    last = best_last
    for begin, end, length in chains[1:]:
        gap = max(begin - last, int(partner[begin] - partner[last])) - 1
        if gap > _WIDEST_GAP or score - _MISS * gap <= 0:
            yield first, best_last
            first, best_last, score, best = begin, end, length, length
        else:
            score += length - _MISS * gap
            if score > best:
                best, best_last = score, end
        last = end
    yield first, best_last


def _run(number: int, line: Line, period: int, step: int, first: int, last: int, partner: Ints) -> Run:
    end = int(partner[last])
    stop = int(line.onset[end]) + int(line.onset[last + 1] - line.onset[last])
    if end + 1 < len(line):
        stop = min(stop, int(line.onset[end + 1]))
    return Run(number, period, step, first, last, int(line.onset[first]), stop)
