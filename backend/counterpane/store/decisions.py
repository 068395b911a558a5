"""Musical decisions for each section: the student's and the teacher's beside each other."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class DecisionRow:
    """What somebody decided for one section; None leaves it open."""

    section: str
    by_role: str
    shape: str | None
    touch: str | None
    leads: str | None


def decide(db: Db, student_id: int, piece_id: int, row: DecisionRow, now: datetime) -> None:
    """Keep a decision; it replaces the same role's earlier one for the section, never a later one."""
    db.execute(
        "INSERT INTO decision (student_id, piece_id, section, by_role, shape, touch, leads, decided_at) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (student_id, piece_id, section, by_role) DO UPDATE SET "
        "shape = excluded.shape, touch = excluded.touch, leads = excluded.leads, decided_at = excluded.decided_at "
        "WHERE excluded.decided_at >= decided_at",
        (student_id, piece_id, row.section, row.by_role, row.shape, row.touch, row.leads, instant(now)),
    )


def decisions(db: Db, student_id: int, piece_id: int) -> tuple[DecisionRow, ...]:
    """Return a student's and the teacher's decisions for a piece; the student's come first."""
    rows = db.execute(
        "SELECT section, by_role, shape, touch, leads FROM decision "
        "WHERE student_id = ? AND piece_id = ? ORDER BY section, by_role",
        (student_id, piece_id),
    )
    return tuple(
        DecisionRow(row["section"], row["by_role"], row["shape"], row["touch"], row["leads"]) for row in rows
    )
