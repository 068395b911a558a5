"""Which lesson is next, and which was the last."""

from __future__ import annotations

from datetime import date, timedelta

from counterpane.model.practice import Lessons


def next_lesson(lessons: Lessons | None, day: date) -> date | None:
    """Return the first lesson on or after `day`, None when none is known."""
    if lessons is None or day <= lessons.first:
        return lessons.first if lessons else None
    if not lessons.every_weeks:
        return None
    ahead = -(day - lessons.first).days % (7 * lessons.every_weeks)
    return day + timedelta(days=ahead)


def last_lesson(lessons: Lessons | None, day: date) -> date | None:
    """Return the last lesson before `day`, None when none is known."""
    if lessons is None or day <= lessons.first:
        return None
    if not lessons.every_weeks:
        return lessons.first
    back = (day - lessons.first).days % (7 * lessons.every_weeks) or 7 * lessons.every_weeks
    return day - timedelta(days=back)
