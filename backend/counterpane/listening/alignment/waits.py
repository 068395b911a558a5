"""How long the player waited for each key, in grades: the path goes by these, not by times."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf
from statistics import median

from counterpane.listening.alignment.costs import ORNAMENT_GAP_MS

TOGETHER, QUICK, STEADY, PAUSE, LONG_PAUSE = -1, 0, 1, 2, 3
"""A key came with the one before, as quickly as in an ornament, in flow, after a pause, after a long one."""

_TOGETHER_MS = 60.0
_PAUSE, _LONG_PAUSE = 2.0, 4.0
"""Gaps of so many times the usual one are pauses."""


def grade_waits(times_ms: Sequence[float]) -> list[int]:
    """Return the grade of each key; it is quick as well when what follows it comes as in an ornament.

    What follows is the next key that does not come together with it.
    """
    gaps = [later - earlier for earlier, later in pairwise(times_ms)]
    usual = median([gap for gap in gaps if gap > _TOGETHER_MS] or [_TOGETHER_MS])
    waits = [QUICK, *(_grade(gap, usual) for gap in gaps)]
    following = inf
    for place in reversed(range(len(gaps))):
        following = gaps[place] if gaps[place] > _TOGETHER_MS else following
        if waits[place] == STEADY and following <= ORNAMENT_GAP_MS:
            waits[place] = QUICK
    return waits


def _grade(gap: float, usual: float) -> int:
    if gap <= _TOGETHER_MS:
        return TOGETHER
    if gap > _PAUSE * usual:
        return LONG_PAUSE if gap > _LONG_PAUSE * usual else PAUSE
    return QUICK if gap <= ORNAMENT_GAP_MS else STEADY
