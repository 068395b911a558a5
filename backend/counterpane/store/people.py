"""People and the studio they belong to."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from counterpane.errors import NotFound
from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class StudioRow:
    """The studio: its name, and the teacher's passphrase as an Argon2 hash."""

    name: str
    passphrase_hash: str


@dataclass(frozen=True)
class PersonRow:
    """Somebody who signs in; a nickname is all that is known."""

    id: int
    role: str
    nickname: str
    language: str
    care_seen: bool


@dataclass(frozen=True)
class StudentRow:
    """A student: the person, and how they practise.

    A lesson is on the ISO day `lesson_date`, and again every `lesson_every_weeks` weeks unless that is 0.
    """

    person: PersonRow
    level: str
    minutes: int
    rest_days: tuple[int, ...]
    lesson_date: str | None
    lesson_every_weeks: int


@dataclass(frozen=True)
class NewStudent:
    """A student to be added; `rest_days` are weekdays from Monday = 0, lessons as in `StudentRow`."""

    nickname: str
    language: str
    level: str
    minutes: int
    rest_days: tuple[int, ...]
    lesson_date: str | None
    lesson_every_weeks: int = 0


_PERSON = "SELECT id, role, nickname, language, care_seen_at FROM person"
_STUDENT = (
    "SELECT person.id, role, nickname, language, care_seen_at, level, minutes, rest_days, "
    "lesson_date, lesson_every_weeks "
    "FROM student JOIN person ON person.id = student.person_id"
)
_BY_NICKNAME = "ORDER BY nickname COLLATE NOCASE, person.id"


def found_studio(db: Db, name: str, passphrase_hash: str, now: datetime) -> int:
    """Write the studio's one row and its teacher; returns the teacher's id."""
    db.execute(
        "INSERT INTO studio (id, name, passphrase_hash, created_at) VALUES (1, ?, ?, ?)",
        (name, passphrase_hash, instant(now)),
    )
    return add_person(db, "teacher", "Teacher", "en", now)


def studio(db: Db) -> StudioRow:
    """Return the studio's row."""
    row = db.execute("SELECT name, passphrase_hash FROM studio").fetchone()
    if row is None:
        raise NotFound("This file holds no studio yet: make one with `counterpane studio create`.")
    return StudioRow(row["name"], row["passphrase_hash"])


def change_passphrase(db: Db, passphrase_hash: str) -> None:
    """Replace the teacher's passphrase."""
    db.execute("UPDATE studio SET passphrase_hash = ?", (passphrase_hash,))


def teacher(db: Db) -> PersonRow:
    """Return the studio's teacher."""
    row = db.execute(f"{_PERSON} WHERE role = 'teacher'").fetchone()
    return _person(row)


def add_person(db: Db, role: str, nickname: str, language: str, now: datetime) -> int:
    """Add a person and return the id."""
    added = db.execute(
        "INSERT INTO person (role, nickname, language, created_at) VALUES (?, ?, ?, ?)",
        (role, nickname, language, instant(now)),
    )
    return int(added.lastrowid or 0)


def person(db: Db, person_id: int) -> PersonRow:
    """Return a person; raises `NotFound`."""
    row = db.execute(f"{_PERSON} WHERE id = ?", (person_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such person in this studio.")
    return _person(row)


def see_care(db: Db, person_id: int, now: datetime) -> None:
    """Remember that somebody saw the cautions; the first time counts."""
    db.execute(
        "UPDATE person SET care_seen_at = coalesce(care_seen_at, ?) WHERE id = ?", (instant(now), person_id)
    )


def add_student(db: Db, new: NewStudent, now: datetime) -> int:
    """Add a student and return the id."""
    student_id = add_person(db, "student", new.nickname, new.language, now)
    db.execute(
        "INSERT INTO student (person_id, level, minutes, rest_days, lesson_date, lesson_every_weeks) "
        "VALUES (?, ?, ?, ?, ?, ?)",
        (
            student_id,
            new.level,
            new.minutes,
            json.dumps(new.rest_days),
            new.lesson_date,
            new.lesson_every_weeks,
        ),
    )
    return student_id


def student(db: Db, student_id: int) -> StudentRow:
    """Return a student; raises `NotFound`."""
    row = db.execute(f"{_STUDENT} WHERE person_id = ?", (student_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such student in this studio.")
    return _student(row)


def students(db: Db) -> tuple[StudentRow, ...]:
    """Return all students by nickname."""
    rows = db.execute(f"{_STUDENT} {_BY_NICKNAME}")
    return tuple(_student(row) for row in rows)


def change_student(db: Db, student_id: int, change: Mapping[str, Any]) -> None:
    """Change some of nickname, language, level, minutes, rest_days and when lessons are."""
    for column in ("nickname", "language"):
        if column in change:
            db.execute(f"UPDATE person SET {column} = ? WHERE id = ?", (change[column], student_id))  # noqa: S608 - names from here
    for column in ("level", "minutes", "rest_days", "lesson_date", "lesson_every_weeks"):
        if column in change:
            value = json.dumps(change[column]) if column == "rest_days" else change[column]
            db.execute(f"UPDATE student SET {column} = ? WHERE person_id = ?", (value, student_id))  # noqa: S608 - names from here


def add_guardian(db: Db, parent_id: int, student_id: int) -> None:
    """Let a parent see a student; again is harmless."""
    db.execute("INSERT OR IGNORE INTO guardian (parent_id, student_id) VALUES (?, ?)", (parent_id, student_id))


def children_of(db: Db, parent_id: int) -> tuple[StudentRow, ...]:
    """Return the students a parent may see."""
    rows = db.execute(
        f"{_STUDENT} JOIN guardian ON guardian.student_id = person_id WHERE parent_id = ? {_BY_NICKNAME}",
        (parent_id,),
    )
    return tuple(_student(row) for row in rows)


def parents_of(db: Db, student_id: int) -> tuple[PersonRow, ...]:
    """Return the parents who may see a student."""
    rows = db.execute(
        f"{_PERSON} JOIN guardian ON parent_id = id WHERE student_id = ? ORDER BY id",
        (student_id,),
    )
    return tuple(_person(row) for row in rows)


def _person(row: Mapping[str, Any]) -> PersonRow:
    return PersonRow(row["id"], row["role"], row["nickname"], row["language"], row["care_seen_at"] is not None)


def _student(row: Mapping[str, Any]) -> StudentRow:
    return StudentRow(
        _person(row),
        row["level"],
        row["minutes"],
        tuple(json.loads(row["rest_days"])),
        row["lesson_date"],
        row["lesson_every_weeks"],
    )
