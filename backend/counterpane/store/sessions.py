"""Who is signed in on which device: kept here, not in the cookie, so that it can be ended here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class SessionRow:
    """A session: who, and by which link (the teacher comes in by none)."""

    person_id: int
    link_id: int | None


def start(db: Db, token_hash: str, person_id: int, link_id: int | None, now: datetime, expires: datetime) -> None:
    """Start a session and clear away those that have expired."""
    db.execute("DELETE FROM session WHERE expires_at <= ?", (instant(now),))
    db.execute(
        "INSERT INTO session (token_hash, person_id, link_id, created_at, expires_at) VALUES (?, ?, ?, ?, ?)",
        (token_hash, person_id, link_id, instant(now), instant(expires)),
    )


def by_token(db: Db, token_hash: str, now: datetime) -> SessionRow | None:
    """Return the session with this token's hash, None when there is none or it has expired."""
    row = db.execute(
        "SELECT person_id, link_id FROM session WHERE token_hash = ? AND expires_at > ?",
        (token_hash, instant(now)),
    ).fetchone()
    return SessionRow(row["person_id"], row["link_id"]) if row else None


def end(db: Db, token_hash: str) -> None:
    """End a session."""
    db.execute("DELETE FROM session WHERE token_hash = ?", (token_hash,))


def end_all_of(db: Db, person_id: int) -> None:
    """End every session of a person."""
    db.execute("DELETE FROM session WHERE person_id = ?", (person_id,))
