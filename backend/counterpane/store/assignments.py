"""Which pieces a student works on, and what the teacher asks in words."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class AssignmentRow:
    """One piece: all sections when `sections` is empty; tempo in quarter notes a minute."""

    piece_id: int
    sections: tuple[str, ...]
    goal_tempo: float


@dataclass(frozen=True)
class NoteRow:
    """What the teacher asked, and when."""

    text: str
    written_at: str


def replace(db: Db, student_id: int, assigned: tuple[AssignmentRow, ...], now: datetime) -> None:
    """Replace what a student works on; what is no longer asked ends, and what was tried stays."""
    db.execute(
        "UPDATE assignment SET ended_at = ? WHERE student_id = ? AND ended_at IS NULL", (instant(now), student_id)
    )
    db.executemany(
        "INSERT INTO assignment (student_id, piece_id, position, sections, goal_tempo, assigned_at) "
        "VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (student_id, piece_id) DO UPDATE SET position = excluded.position, "
        "sections = excluded.sections, goal_tempo = excluded.goal_tempo, ended_at = NULL",
        [
            (student_id, one.piece_id, position, json.dumps(one.sections), one.goal_tempo, instant(now))
            for position, one in enumerate(assigned)
        ],
    )


def assignments(db: Db, student_id: int) -> tuple[AssignmentRow, ...]:
    """Return what a student works on, in the teacher's order."""
    rows = db.execute(
        "SELECT piece_id, sections, goal_tempo FROM assignment "
        "WHERE student_id = ? AND ended_at IS NULL ORDER BY position",
        (student_id,),
    )
    return tuple(
        AssignmentRow(row["piece_id"], tuple(json.loads(row["sections"])), row["goal_tempo"]) for row in rows
    )


def pieces_of(db: Db, student_ids: tuple[int, ...]) -> frozenset[int]:
    """Return the pieces some students work on or ever worked on."""
    rows = (
        db.execute("SELECT piece_id FROM assignment WHERE student_id = ?", (student_id,))
        for student_id in student_ids
    )
    return frozenset(row["piece_id"] for found in rows for row in found)


def add_note(db: Db, student_id: int, text: str, now: datetime) -> None:
    """Keep what the teacher asks from now on."""
    db.execute(
        "INSERT INTO note (student_id, text, written_at) VALUES (?, ?, ?)", (student_id, text, instant(now))
    )


def newest_note(db: Db, student_id: int) -> str:
    """Return what the teacher asked last, an empty text when nothing."""
    row = db.execute(
        "SELECT text FROM note WHERE student_id = ? ORDER BY id DESC LIMIT 1", (student_id,)
    ).fetchone()
    return str(row["text"]) if row else ""


def notes(db: Db, student_id: int) -> tuple[NoteRow, ...]:
    """Return all the teacher asked, oldest first."""
    rows = db.execute("SELECT text, written_at FROM note WHERE student_id = ? ORDER BY id", (student_id,))
    return tuple(NoteRow(row["text"], row["written_at"]) for row in rows)
