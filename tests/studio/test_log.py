"""Minutes at the instrument, the weeks of the log, and what the teacher asked."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from counterpane.store.attempts import AttemptRow
from counterpane.store.clock import instant
from counterpane.studio import brief, log, people
from counterpane.studio.house import Studio
from counterpane.studio.minutes import minutes_by_day
from tests.studio.conftest import LONG, NOW, SHORT, STUDENT
from tests.studio.trying import record

ROW = AttemptRow(
    1, STUDENT, SHORT, "p1", "right-slow", 1, 2, "right", 60.0, instant(NOW), "2026-03-02", 60.0, "web-midi",
    None, "1", 1.0, None, None, 0, True, True, (),
)  # fmt: skip


def at(second: float, seconds: float = 60.0, source: str = "web-midi") -> AttemptRow:
    return replace(ROW, started_at=instant(NOW + timedelta(seconds=second)), seconds=seconds, source=source)


@pytest.mark.parametrize(
    ("rows", "minutes", "self_judged"),
    [
        ([at(0)], 1.0, 0.0),
        ([at(0), at(120)], 3.0, 0.0),  # the minute between two tries is practice
        ([at(0), at(600)], 2.0, 0.0),  # ten minutes between them are not
        ([at(0, 120), at(60)], 2.0, 0.0),  # what overlaps is counted once
        ([at(120), at(0)], 3.0, 0.0),  # in whatever order they arrived
        ([at(0, 0.0)], 0.5, 0.0),  # an attempt of unknown length
        ([at(0), at(120, 60, "self-judged")], 3.0, 2.0),
        ([], 0.0, 0.0),
    ],
)
def test_minutes_are_what_was_spent_at_the_instrument(
    rows: list[AttemptRow], minutes: float, self_judged: float
) -> None:
    found = minutes_by_day(rows)
    assert sum(day.minutes for day in found.values()) == pytest.approx(minutes)
    assert sum(day.self_judged for day in found.values()) == pytest.approx(self_judged)


def test_a_week_runs_from_monday_and_holds_what_was_asked_in_it(studio: Studio) -> None:
    """2 March 2026 is a Monday (proleptic Gregorian calendar); the day before belongs to the week before."""
    people.change_student(studio, None, STUDENT, {"note": "Slowly, and count the entries."}, NOW)
    record(studio, "attempt-1", started_at=NOW - timedelta(days=1))
    record(studio, "attempt-2", started_at=NOW)
    page = log.log(studio, STUDENT, 2, NOW)
    assert [week.start for week in page.weeks] == ["2026-03-02", "2026-02-23"]
    assert [[day.date for day in week.days] for week in page.weeks] == [["2026-03-02"], ["2026-03-01"]]
    assert page.weeks[0].asked == ("Slowly, and count the entries.",)
    assert page.how_to_help[0] == "Slowly, and count the entries."
    assert len(page.how_to_help) == 5


def test_the_log_speaks_the_familys_language(studio: Studio) -> None:
    people.change_student(studio, None, STUDENT, {"language": "de"}, NOW)
    assert "Lehrkraft" in log.log(studio, STUDENT, 1, NOW).how_to_help[0]


def test_the_brief_names_what_was_not_practised(studio: Studio) -> None:
    """Sections that no attempt touched since the last lesson are listed, with when they were played last."""
    one_of_long = studio.library.work(LONG).analysis.sections[1].label
    people.assign(studio, None, STUDENT, (people.Assigned(SHORT), people.Assigned(LONG, (one_of_long,))), NOW)
    record(studio, "attempt-1", started_at=NOW)
    page = brief.brief(studio, STUDENT, NOW)
    sections = [one.label for one in studio.library.work(SHORT).analysis.sections]
    first = studio.library.work(SHORT).analysis.sections[0]
    left_out = {(one.piece_id, one.section) for one in page.not_practised}
    assert (SHORT, first.label) not in left_out
    assert {(SHORT, label) for label in sections[1:]} <= left_out
    assert {(piece, label) for piece, label in left_out if piece == LONG} == {(LONG, one_of_long)}
    assert (page.days_practised, page.minutes_asked) == (1, 7 * 20)
    later = brief.brief(studio, STUDENT, NOW + timedelta(days=10))
    reasons = {one.section: one.reason for one in later.not_practised if one.piece_id == SHORT}
    assert reasons[first.label] == "Last played on 2026-03-02."


def test_the_brief_counts_from_the_last_lesson(studio: Studio) -> None:
    """With a lesson every two weeks, practice and what was asked count from the one before; else for a week."""
    earlier = NOW - timedelta(days=10)
    record(studio, "attempt-1", started_at=earlier)
    assert brief.brief(studio, STUDENT, NOW).days_practised == 0
    first = (NOW - timedelta(days=40)).date()
    change = {"lesson_date": first, "lesson_every_weeks": 2, "rest_days": (6,)}
    card = people.change_student(studio, None, STUDENT, change, NOW)
    assert card.next_lesson == (first + timedelta(days=42)).isoformat()
    page = brief.brief(studio, STUDENT, NOW)
    assert page.since == (NOW - timedelta(days=12)).date().isoformat()
    days = [NOW.date() - timedelta(days=back) for back in range(12)]
    asked = 20 * sum(day.weekday() != 6 for day in days)
    assert (page.days_practised, page.minutes_asked) == (1, asked)
