"""How long each key was waited for, beside the usual gap of the performance."""

from __future__ import annotations

from itertools import accumulate

import pytest

from counterpane.listening.alignment.waits import LONG_PAUSE, PAUSE, QUICK, STEADY, TOGETHER, grade_waits


@pytest.mark.parametrize(
    ("gaps", "expected"),
    [
        ([600, 600, 600], [STEADY, STEADY, STEADY]),
        ([600, 20, 600], [STEADY, TOGETHER, STEADY]),
        ([600, 600, 1300, 600, 2500], [STEADY, STEADY, PAUSE, STEADY, LONG_PAUSE]),
        ([200, 200, 200], [QUICK, QUICK, QUICK]),  # quick notes are as quick as an ornament
        (
            [600, 600, 100, 100, 600, 600],
            [STEADY, QUICK, QUICK, QUICK, STEADY, STEADY],
        ),  # a turn, its first key too
        ([600, 20, 100, 100, 600], [QUICK, TOGETHER, QUICK, QUICK, STEADY]),  # and with the other hand's note
        ([200, 200, 500, 100], [QUICK, QUICK, PAUSE, QUICK]),  # what begins after a pause is no ornament so far
    ],
)
def test_keys_are_graded_by_the_time_before_them(gaps: list[int], expected: list[int]) -> None:
    """Gaps in milliseconds; the first key of all has none before it."""
    assert grade_waits(list(accumulate(gaps, initial=0.0)))[1:] == expected


def test_one_key_was_waited_for_by_nobody() -> None:
    """A performance of one key has no usual gap."""
    assert grade_waits([1000.0]) == [QUICK]
