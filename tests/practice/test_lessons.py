"""Lessons: the one that comes, the one that was."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.model.practice import Lessons
from counterpane.practice.lessons import last_lesson, next_lesson

MONDAY = date(2026, 3, 2)


def on(day: int) -> date:
    return MONDAY + timedelta(days=day)


@pytest.mark.parametrize(
    ("every_weeks", "day", "last", "following"),
    [
        (0, -3, None, 0),
        (0, 0, None, 0),
        (0, 20, 0, None),
        (1, -3, None, 0),
        (1, 0, None, 0),
        (1, 1, 0, 7),
        (1, 7, 0, 7),
        (1, 16, 14, 21),
        (2, 7, 0, 14),
        (2, 14, 0, 14),
        (2, 15, 14, 28),
    ],
)
def test_the_lessons_around_a_day(every_weeks: int, day: int, last: int | None, following: int | None) -> None:
    """A lesson's own day is the day of the next lesson; before the first one no last one is known."""
    lessons = Lessons(MONDAY, every_weeks)
    assert last_lesson(lessons, on(day)) == (None if last is None else on(last))
    assert next_lesson(lessons, on(day)) == (None if following is None else on(following))


def test_without_a_date_no_lesson_is_known() -> None:
    """The teacher need not set one."""
    assert next_lesson(None, MONDAY) is None
    assert last_lesson(None, MONDAY) is None


@given(st.integers(1, 4), st.integers(1, 500))
def test_one_rhythm_lies_between_the_last_lesson_and_the_next(every_weeks: int, day: int) -> None:
    """After the first lesson a day always stands between two lessons that are one rhythm apart."""
    lessons = Lessons(MONDAY, every_weeks)
    last, following = last_lesson(lessons, on(day)), next_lesson(lessons, on(day))
    assert last
    assert following
    assert last < on(day) <= following
    assert following - last == timedelta(weeks=every_weeks)
