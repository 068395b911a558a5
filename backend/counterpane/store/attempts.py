"""Attempts: appended, never rewritten (a trigger holds this), once a `client_id`."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from sys import intern
from typing import Any

from counterpane.errors import NotFound
from counterpane.store.clock import instant
from counterpane.store.database import Db
from counterpane.store.packing import RawEvent, pack_events, unpack_events


@dataclass(frozen=True)
class NewAttempt:
    """An attempt as it is kept. `day` is the ISO day where it was played; `seconds` how long it took.

    `judged_good` says whether a self-judged attempt met its step, None when it was heard.
    """

    student_id: int
    client_id: str
    piece_id: int
    patch_id: str
    step_id: str
    first_measure: int
    last_measure: int
    hands: str
    tempo: float
    started_at: datetime
    day: str
    seconds: float
    source: str
    self_judgement: tuple[int, int, int] | None
    judged_good: bool | None
    raw_events: tuple[RawEvent, ...]
    app_version: str


@dataclass(frozen=True, slots=True)
class AttemptRow:
    """An attempt without its key events, with what its newest assessment says in short.

    `accuracy` is a share, times are in milliseconds; all are None when nothing was heard.
    """

    id: int
    student_id: int
    piece_id: int
    patch_id: str
    step_id: str
    first_measure: int
    last_measure: int
    hands: str
    tempo: float
    started_at: str
    day: str
    seconds: float
    source: str
    self_judgement: tuple[int, int, int] | None
    engine: str | None
    accuracy: float | None
    evenness_ms: float | None
    togetherness_ms: float | None
    hesitations: int | None
    complete: bool
    met_goals: bool
    findings: tuple[str, ...]


_WITH_NEWEST = """
SELECT attempt.id, student_id, piece_id, patch_id, step_id, first_measure, last_measure, hands, tempo, started_at,
       day, seconds, source, self_judgement, judged_good, engine, accuracy, evenness_ms, togetherness_ms,
       hesitations, complete, met_goals, findings
FROM attempt LEFT JOIN assessment ON assessment.id =
     (SELECT max(newest.id) FROM assessment AS newest WHERE newest.attempt_id = attempt.id)
"""


def add(db: Db, new: NewAttempt, now: datetime) -> int:
    """Append an attempt and return its id."""
    added = db.execute(
        "INSERT INTO attempt (student_id, client_id, piece_id, patch_id, step_id, first_measure, last_measure, "
        "hands, tempo, started_at, day, seconds, source, self_judgement, judged_good, raw_events, "
        "app_version, received_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            new.student_id,
            new.client_id,
            new.piece_id,
            new.patch_id,
            new.step_id,
            new.first_measure,
            new.last_measure,
            new.hands,
            new.tempo,
            instant(new.started_at),
            new.day,
            new.seconds,
            new.source,
            json.dumps(new.self_judgement) if new.self_judgement else None,
            None if new.judged_good is None else int(new.judged_good),
            pack_events(new.raw_events),
            new.app_version,
            instant(now),
        ),
    )
    return int(added.lastrowid or 0)


def by_client_id(db: Db, student_id: int, client_id: str) -> int | None:
    """Return the id of the attempt that arrived under this `client_id`, if one did."""
    row = db.execute(
        "SELECT id FROM attempt WHERE student_id = ? AND client_id = ?", (student_id, client_id)
    ).fetchone()
    return int(row["id"]) if row else None


def attempt(db: Db, attempt_id: int) -> AttemptRow:
    """Return an attempt; raises `NotFound`."""
    row = db.execute(f"{_WITH_NEWEST} WHERE attempt.id = ?", (attempt_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such attempt in this studio.")
    return _attempt(row)


def raw_events(db: Db, attempt_id: int) -> tuple[RawEvent, ...]:
    """Return an attempt's key events as the device gave them."""
    row = db.execute("SELECT raw_events FROM attempt WHERE id = ?", (attempt_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such attempt in this studio.")
    return unpack_events(row["raw_events"])


def of_student(db: Db, student_id: int, *, since: str = "", after: int = 0) -> tuple[AttemptRow, ...]:
    """Return a student's attempts from the ISO day `since` on, in the order they were made.

    Only those that were kept after the one with the id `after`.
    """
    rows = db.execute(
        f"{_WITH_NEWEST} WHERE student_id = ? AND day >= ? AND attempt.id > ? ORDER BY started_at, attempt.id",
        (student_id, since, after),
    )
    return tuple(_attempt(row) for row in rows)


def newest(db: Db, student_id: int, piece_id: int, patch_id: str | None, limit: int) -> tuple[AttemptRow, ...]:
    """Return a student's newest attempts on a piece, or on one patch of it, newest first."""
    rows = db.execute(
        f"{_WITH_NEWEST} WHERE student_id = ? AND piece_id = ? AND coalesce(?, patch_id) = patch_id "
        "ORDER BY started_at DESC, attempt.id DESC LIMIT ?",
        (student_id, piece_id, patch_id, limit),
    )
    return tuple(_attempt(row) for row in rows)


def last_day(db: Db, student_id: int) -> str | None:
    """Return the ISO day of a student's latest attempt."""
    row = db.execute("SELECT max(day) FROM attempt WHERE student_id = ?", (student_id,)).fetchone()
    return str(row[0]) if row[0] else None


def changes(db: Db, student_id: int) -> int:
    """Return how many attempts, assessments and answers were ever added about a student."""
    row = db.execute("SELECT changes FROM student WHERE person_id = ?", (student_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such student in this studio.")
    return int(row["changes"])


def heard_by_others(db: Db, engine: str, since: str) -> tuple[int, ...]:
    """Return the heard attempts from the ISO day `since` on that this engine has not assessed."""
    rows = db.execute(
        "SELECT id FROM attempt WHERE source <> 'self-judged' AND day >= ? AND NOT EXISTS "
        "(SELECT 1 FROM assessment WHERE attempt_id = attempt.id AND engine = ?) ORDER BY id",
        (since, engine),
    )
    return tuple(row["id"] for row in rows)


def _attempt(row: Mapping[str, Any]) -> AttemptRow:
    """Return a row; words that stand in many rows are kept once (`intern`), since histories are kept at hand."""
    judged = json.loads(row["self_judgement"]) if row["self_judgement"] else None
    return AttemptRow(
        id=row["id"],
        student_id=row["student_id"],
        piece_id=row["piece_id"],
        patch_id=intern(row["patch_id"]),
        step_id=intern(row["step_id"]),
        first_measure=row["first_measure"],
        last_measure=row["last_measure"],
        hands=intern(row["hands"]),
        tempo=row["tempo"],
        started_at=row["started_at"],
        day=intern(row["day"]),
        seconds=row["seconds"],
        source=intern(row["source"]),
        self_judgement=(judged[0], judged[1], judged[2]) if judged else None,
        engine=row["engine"],
        accuracy=row["accuracy"],
        evenness_ms=row["evenness_ms"],
        togetherness_ms=row["togetherness_ms"],
        hesitations=row["hesitations"],
        complete=bool(row["complete"]) if row["complete"] is not None else True,
        met_goals=bool(row["judged_good"] if row["met_goals"] is None else row["met_goals"]),
        findings=tuple(one["text"] for one in json.loads(row["findings"] or "[]")),
    )
