"""When the onsets of a run were played, or would have been."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from math import inf
from statistics import median

_NEIGHBOURS = 5
"""The pace at a place is the median over so many steps on either side."""

_FEW_STEPS = 3
"""Among fewer steps the usual pace of the whole performance counts as one more."""


@dataclass(frozen=True)
class TimeLine:
    """Onsets in quarters and when they were first played, both rising; `usual_pace` is in ms a quarter note."""

    onsets: tuple[float, ...]
    times_ms: tuple[float, ...]
    usual_pace: float
    _paces: dict[int, float] = field(default_factory=dict, repr=False, compare=False)
    _step_paces: list[float] = field(default_factory=list, repr=False, compare=False)

    def pace(self, onset: float) -> float:
        """Return the usual duration of a quarter note around an onset, in milliseconds; pauses do not count."""
        return self._pace_at(bisect_left(self.onsets, onset))

    def _pace_at(self, index: int) -> float:
        if index not in self._paces:
            self._paces[index] = self._usual_pace(index)
        return self._paces[index]

    def _usual_pace(self, index: int) -> float:
        if not self._step_paces:
            steps = zip(pairwise(self.onsets), pairwise(self.times_ms), strict=True)
            self._step_paces.extend((later - time) / (then - now) for (now, then), (time, later) in steps)
        near = self._step_paces[max(0, index - _NEIGHBOURS) : index + _NEIGHBOURS]
        return median(near if len(near) >= _FEW_STEPS else [*near, self.usual_pace])

    def at(self, onset: float) -> float:
        """Return the expected time of an onset in milliseconds, between its neighbours in proportion."""
        return self.expected(onset)[-1]

    def misfit_ms(self, onset: float, time_ms: float) -> float:
        """Return how far a time is from where the onset may lie (see `expected`): infinitely, on an empty line."""
        return min((abs(time_ms - expected) for expected in self.expected(onset)), default=inf)

    def expected(self, onset: float) -> list[float]:
        """Return the times at which an onset may lie, in milliseconds.

        An onset between two that were played lies at the usual pace after the earlier one, or before the
        later one, or in proportion between them: a pause may have come on either side, or neither.
        """
        index = bisect_left(self.onsets, onset)
        pace = self._pace_at(index)
        expected = []
        if index < len(self.onsets):
            expected.append(self.times_ms[index] + (onset - self.onsets[index]) * pace)
        if index > 0:
            expected.append(self.times_ms[index - 1] + (onset - self.onsets[index - 1]) * pace)
        if len(expected) == 2:
            share = (onset - self.onsets[index - 1]) / (self.onsets[index] - self.onsets[index - 1])
            expected.append(self.times_ms[index - 1] + share * (self.times_ms[index] - self.times_ms[index - 1]))
        return expected


def draw_time_line(played: Iterable[tuple[float, float]], usual_pace: float) -> TimeLine:
    """Return the time line through onsets (quarters, rising) and their times (ms; infinite, if not played).

    Times that run back are left out.
    """
    onsets: list[float] = []
    times: list[float] = []
    last = -inf
    for onset, time in played:
        if last < time < inf:
            onsets.append(onset)
            times.append(time)
            last = time
    return TimeLine(tuple(onsets), tuple(times), usual_pace)
