"""Students: taken in, changed, listed, and given pieces to work on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, cast

from counterpane.errors import CounterpaneError
from counterpane.model.practice import Level
from counterpane.practice.difficulty import goal_tempo
from counterpane.practice.lessons import next_lesson
from counterpane.store import assignments as assigning
from counterpane.store import attempts, audit, people, pieces
from counterpane.store.database import Db
from counterpane.studio.access import Asker
from counterpane.studio.house import Studio
from counterpane.studio.minutes import minutes_by_day
from counterpane.studio.pages.people import Assignment, Language, StudentCard
from counterpane.studio.past import lessons


@dataclass(frozen=True)
class NewStudent:
    """A student to be taken in: a nickname, how they practise, and what is asked first."""

    nickname: str
    level: Level = "early"
    language: Language = "en"
    minutes: int = 20
    rest_days: tuple[int, ...] | list[int] = ()
    lesson_date: date | None = None
    lesson_every_weeks: int = 1
    note: str = ""


@dataclass(frozen=True)
class Assigned:
    """A piece to work on: all of it without sections; at the piece's own tempo without a goal."""

    piece_id: int
    sections: tuple[str, ...] = ()
    goal_tempo: float | None = None


def students_for(studio: Studio, asker: Asker, now: datetime) -> tuple[StudentCard, ...]:
    """Return all students for the teacher, and their own children for a parent."""
    with studio.store.read() as db:
        own = {student.id for student in asker.students}
        everybody = asker.person.role == "teacher"
        return tuple(_card(db, row, now) for row in people.students(db) if everybody or row.person.id in own)


def student_card(studio: Studio, student_id: int, now: datetime) -> StudentCard:
    """Return one student; raises `NotFound`."""
    with studio.store.read() as db:
        return _card(db, people.student(db, student_id), now)


def add_student(studio: Studio, asker: Asker | None, new: NewStudent, now: datetime) -> StudentCard:
    """Take a student in."""
    _check_rest_days(tuple(new.rest_days))
    row = people.NewStudent(
        new.nickname,
        new.language,
        new.level,
        new.minutes,
        tuple(sorted(set(new.rest_days))),
        new.lesson_date.isoformat() if new.lesson_date else None,
        new.lesson_every_weeks,
    )
    with studio.store.write() as db:
        student_id = people.add_student(db, row, now)
        if new.note:
            assigning.add_note(db, student_id, new.note, now)
        audit.record(db, asker.person.id if asker else None, "took a student in", f"student {student_id}", now)
        return _card(db, people.student(db, student_id), now)


def change_student(
    studio: Studio, asker: Asker | None, student_id: int, change: Mapping[str, Any], now: datetime
) -> StudentCard:
    """Change what is named in `change`; a new note is kept beside the earlier ones."""
    wanted = {name: value for name, value in change.items() if value is not None or name == "lesson_date"}
    if "rest_days" in wanted:
        _check_rest_days(tuple(wanted["rest_days"]))
        wanted["rest_days"] = sorted(set(wanted["rest_days"]))
    if wanted.get("lesson_date") is not None:
        wanted["lesson_date"] = wanted["lesson_date"].isoformat()
    with studio.store.write() as db:
        people.student(db, student_id)
        people.change_student(db, student_id, wanted)
        if "note" in wanted and wanted["note"] != assigning.newest_note(db, student_id):
            assigning.add_note(db, student_id, wanted["note"], now)
        what = f"{', '.join(sorted(wanted))} of student {student_id}"
        audit.record(db, asker.person.id if asker else None, "changed a student", what, now)
        return _card(db, people.student(db, student_id), now)


def assignments(studio: Studio, student_id: int) -> tuple[Assignment, ...]:
    """Return the pieces a student works on, in the teacher's order."""
    with studio.store.read() as db:
        people.student(db, student_id)
        return tuple(
            Assignment(row.piece_id, pieces.piece(db, row.piece_id).title, row.sections, row.goal_tempo)
            for row in assigning.assignments(db, student_id)
        )


def assign(
    studio: Studio, asker: Asker | None, student_id: int, wanted: tuple[Assigned, ...], now: datetime
) -> tuple[Assignment, ...]:
    """Replace what a student works on; raises `CounterpaneError` for a section that a piece does not have."""
    if len({one.piece_id for one in wanted}) < len(wanted):
        raise CounterpaneError("A piece stands twice in the list: name each piece once.")
    rows = tuple(_assignment(studio, one) for one in wanted)
    with studio.store.write() as db:
        people.student(db, student_id)
        assigning.replace(db, student_id, rows, now)
        audit.record(db, asker.person.id if asker else None, "assigned pieces", f"student {student_id}", now)
    return assignments(studio, student_id)


def _assignment(studio: Studio, one: Assigned) -> assigning.AssignmentRow:
    work = studio.library.work(one.piece_id)
    labels = [section.label for section in work.analysis.sections]
    for label in one.sections:
        if label not in labels:
            raise CounterpaneError(f"{work.piece.title} has no section {label}: choose from {', '.join(labels)}.")
    return assigning.AssignmentRow(one.piece_id, one.sections, goal_tempo(work.piece, one.goal_tempo))


def _check_rest_days(rest_days: tuple[int, ...]) -> None:
    if len(set(rest_days)) > 6:
        raise CounterpaneError("Every day is a rest day: leave at least one day to practise.")


def _card(db: Db, row: people.StudentRow, now: datetime) -> StudentCard:
    today = now.date()
    monday = (today - timedelta(days=today.weekday())).isoformat()
    this_week = minutes_by_day(attempts.of_student(db, row.person.id, since=monday))
    following = next_lesson(lessons(row), today)
    return StudentCard(
        id=row.person.id,
        nickname=row.person.nickname,
        level=cast(Level, row.level),
        language=cast(Language, row.person.language),
        minutes=row.minutes,
        rest_days=row.rest_days,
        lesson_date=row.lesson_date,
        lesson_every_weeks=row.lesson_every_weeks,
        next_lesson=following.isoformat() if following else None,
        note=assigning.newest_note(db, row.person.id),
        last_practised=attempts.last_day(db, row.person.id),
        minutes_this_week=round(sum(day.minutes for day in this_week.values()), 1),
        pieces=tuple(one.piece_id for one in assigning.assignments(db, row.person.id)),
    )
