"""Answers to puzzles: appended, once a `client_id`."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class AnswerRow:
    """One answer: note ids, a number or the index of a choice, and whether it was right."""

    client_id: str
    piece_id: int
    puzzle_id: str
    patch_id: str | None
    kind: str
    answer: tuple[str, ...] | int
    right: bool
    milliseconds: int
    day: str
    answered_at: datetime


@dataclass(frozen=True)
class Tally:
    """How often a kind of puzzle was tried and answered rightly."""

    kind: str
    right: int
    tried: int


def add(db: Db, student_id: int, row: AnswerRow) -> None:
    """Append an answer; the same `client_id` again is harmless."""
    db.execute(
        "INSERT OR IGNORE INTO puzzle_answer (student_id, client_id, piece_id, puzzle_id, patch_id, kind, answer, "
        "is_right, milliseconds, day, answered_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            student_id,
            row.client_id,
            row.piece_id,
            row.puzzle_id,
            row.patch_id,
            row.kind,
            json.dumps(row.answer),
            int(row.right),
            row.milliseconds,
            row.day,
            instant(row.answered_at),
        ),
    )


def outcomes(db: Db, student_id: int, piece_id: int) -> dict[str, bool]:
    """Return by puzzle whether a student's latest answer was right."""
    rows = db.execute(
        "SELECT puzzle_id, is_right FROM puzzle_answer WHERE student_id = ? AND piece_id = ? "
        "ORDER BY answered_at, id",
        (student_id, piece_id),
    )
    return {row["puzzle_id"]: bool(row["is_right"]) for row in rows}


def asked(db: Db, student_id: int, piece_id: int) -> tuple[str, ...]:
    """Return the puzzles that a student answered, oldest first."""
    rows = db.execute(
        "SELECT puzzle_id FROM puzzle_answer WHERE student_id = ? AND piece_id = ? ORDER BY answered_at, id",
        (student_id, piece_id),
    )
    return tuple(row["puzzle_id"] for row in rows)


def tallies(db: Db, student_id: int, since: str) -> tuple[Tally, ...]:
    """Return how a student does with each kind of puzzle from the ISO day `since` on."""
    rows = db.execute(
        "SELECT kind, sum(is_right) AS right, count(*) AS tried FROM puzzle_answer "
        "WHERE student_id = ? AND day >= ? GROUP BY kind ORDER BY kind",
        (student_id, since),
    )
    return tuple(Tally(row["kind"], row["right"], row["tried"]) for row in rows)


@dataclass(frozen=True)
class OpenedPatch:
    """A patch that was opened by a puzzle on an ISO day, and how many minutes the puzzle took."""

    piece_id: int
    patch_id: str
    day: str
    answered_at: str
    minutes: float


def opened(db: Db, student_id: int) -> tuple[OpenedPatch, ...]:
    """Return which patches a student opened by a puzzle, in the order in which that happened."""
    rows = db.execute(
        "SELECT piece_id, patch_id, day, answered_at, milliseconds FROM puzzle_answer "
        "WHERE student_id = ? AND patch_id IS NOT NULL ORDER BY answered_at, id",
        (student_id,),
    )
    return tuple(
        OpenedPatch(row["piece_id"], row["patch_id"], row["day"], row["answered_at"], row["milliseconds"] / 60_000)
        for row in rows
    )


def per_day(db: Db, student_id: int, since: str) -> dict[str, tuple[int, float]]:
    """Return by day how many puzzles a student answered and how many seconds they took."""
    rows = db.execute(
        "SELECT day, count(*) AS number, sum(milliseconds) / 1000.0 AS seconds FROM puzzle_answer "
        "WHERE student_id = ? AND day >= ? GROUP BY day",
        (student_id, since),
    )
    return {row["day"]: (row["number"], row["seconds"]) for row in rows}
