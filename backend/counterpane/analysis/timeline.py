"""Things that last, to be asked what is about at a time without going through all of them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from fractions import Fraction
from typing import Generic, TypeVar

_T = TypeVar("_T")
Time = int | Fraction


class Timeline(Generic[_T]):
    """Things with a start and an end, in quarters or in ticks."""

    def __init__(self, things: Iterable[tuple[Time, Time, _T]]) -> None:
        self._things = list(things)
        self._order = sorted(range(len(self._things)), key=lambda number: self._things[number][0])
        self._starts = [self._things[number][0] for number in self._order]
        self._longest = max((end - start for start, end, _ in self._things), default=0)

    def touching(self, start: Time, end: Time) -> list[_T]:
        """Return what starts at `end` or earlier and ends at `start` or later, in the order it was given."""
        # Nothing that starts before this lasts until `start`.
        first = bisect_left(self._starts, start - self._longest)
        last = bisect_right(self._starts, end, lo=first)
        nearby = [self._things[number] for number in sorted(self._order[first:last])]
        return [thing for _, until, thing in nearby if until >= start]
