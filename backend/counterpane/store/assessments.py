"""What was heard in an attempt: one assessment an engine, the newest counts, older ones stay."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from counterpane.store.clock import instant
from counterpane.store.database import Db
from counterpane.store.packing import pack_report, unpack_report


@dataclass(frozen=True)
class AssessmentRow:
    """An assessment: the report, its pictures (kind, svg, text) and what plans and lists ask for.

    `accuracy` is a share 0 to 1, times are in milliseconds, `findings` are those for the student, `tallies` say
    how each measure and hand fared.
    """

    engine: str
    accuracy: float | None
    evenness_ms: float | None
    togetherness_ms: float | None
    hesitations: int | None
    complete: bool
    met_goals: bool
    findings: tuple[dict[str, Any], ...]
    tallies: tuple[dict[str, Any], ...]
    report: dict[str, Any]
    pictures: tuple[dict[str, str], ...]


@dataclass(frozen=True)
class HeardRow:
    """How each measure and hand fared in one heard attempt."""

    attempt_id: int
    piece_id: int
    day: str
    tallies: tuple[dict[str, Any], ...]


def add(db: Db, attempt_id: int, row: AssessmentRow, now: datetime) -> None:
    """Keep an assessment beside those of other engines."""
    db.execute(
        "INSERT INTO assessment (attempt_id, engine, made_at, accuracy, evenness_ms, togetherness_ms, "
        "hesitations, complete, met_goals, findings, tallies, report, pictures) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            attempt_id,
            row.engine,
            instant(now),
            row.accuracy,
            row.evenness_ms,
            row.togetherness_ms,
            row.hesitations,
            int(row.complete),
            int(row.met_goals),
            json.dumps(row.findings),
            json.dumps(row.tallies),
            pack_report(row.report),
            pack_report(row.pictures),
        ),
    )


def newest(db: Db, attempt_id: int) -> AssessmentRow | None:
    """Return the newest assessment of an attempt, None when it was not heard."""
    row = db.execute(
        "SELECT * FROM assessment WHERE attempt_id = ? ORDER BY id DESC LIMIT 1", (attempt_id,)
    ).fetchone()
    return _assessment(row) if row else None


def newest_tallies(db: Db, student_id: int, since: str) -> tuple[HeardRow, ...]:
    """Return how each measure fared in a student's heard attempts from the ISO day `since` on, in their order."""
    rows = db.execute(
        "SELECT attempt.id, piece_id, day, tallies FROM attempt JOIN assessment ON assessment.id = "
        "(SELECT max(newest.id) FROM assessment AS newest WHERE newest.attempt_id = attempt.id) "
        "WHERE student_id = ? AND day >= ? ORDER BY started_at, attempt.id",
        (student_id, since),
    )
    return tuple(
        HeardRow(row["id"], row["piece_id"], row["day"], tuple(json.loads(row["tallies"]))) for row in rows
    )


def engines(db: Db, attempt_id: int) -> tuple[str, ...]:
    """Return the engines that assessed an attempt, oldest first."""
    rows = db.execute("SELECT engine FROM assessment WHERE attempt_id = ? ORDER BY id", (attempt_id,))
    return tuple(row["engine"] for row in rows)


def _assessment(row: Mapping[str, Any]) -> AssessmentRow:
    return AssessmentRow(
        engine=row["engine"],
        accuracy=row["accuracy"],
        evenness_ms=row["evenness_ms"],
        togetherness_ms=row["togetherness_ms"],
        hesitations=row["hesitations"],
        complete=bool(row["complete"]),
        met_goals=bool(row["met_goals"]),
        findings=tuple(json.loads(row["findings"])),
        tallies=tuple(json.loads(row["tallies"])),
        report=unpack_report(row["report"]),
        pictures=tuple(unpack_report(row["pictures"])),
    )
