"""What was done to people's data: by whom (an id), what, about whom (words without a name)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class AuditRow:
    """One line of the record; `by` is a nickname, or "somebody erased"."""

    at: str
    by: str
    action: str
    about: str


def record(db: Db, by_person: int | None, action: str, about: str, now: datetime) -> None:
    """Append a line. `about` names nobody: it stays when the family's data is erased."""
    db.execute(
        "INSERT INTO audit (at, by_person, action, about) VALUES (?, ?, ?, ?)",
        (instant(now), by_person, action, about),
    )


def newest(db: Db, limit: int = 200) -> tuple[AuditRow, ...]:
    """Return the newest lines, newest first."""
    rows = db.execute(
        "SELECT at, CASE WHEN by_person IS NULL THEN 'the command line' "
        "ELSE coalesce(nickname, 'somebody erased') END AS by, action, about "
        "FROM audit LEFT JOIN person ON person.id = by_person ORDER BY audit.id DESC LIMIT ?",
        (limit,),
    )
    return tuple(AuditRow(row["at"], row["by"], row["action"], row["about"]) for row in rows)
