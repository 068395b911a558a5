"""Pairings of a page with the computer at the piano. The secret is kept as a hash alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from counterpane.store.clock import instant, moment
from counterpane.store.database import Db


@dataclass(frozen=True)
class PairingRow:
    """An open pairing."""

    id: int
    person_id: int
    secret_hash: str | None
    created_at: datetime


def start(db: Db, code: str, person_id: int, now: datetime) -> None:
    """Open a pairing; a person has one at a time."""
    db.execute(
        "UPDATE pairing SET ended_at = ? WHERE person_id = ? AND ended_at IS NULL", (instant(now), person_id)
    )
    db.execute(
        "INSERT INTO pairing (code, person_id, created_at) VALUES (?, ?, ?)", (code, person_id, instant(now))
    )


def by_code(db: Db, code: str) -> PairingRow | None:
    """Return the open pairing under a code, if there is one."""
    row = db.execute(
        "SELECT id, person_id, secret_hash, created_at FROM pairing WHERE code = ? AND ended_at IS NULL", (code,)
    ).fetchone()
    return PairingRow(row["id"], row["person_id"], row["secret_hash"], moment(row["created_at"])) if row else None


def claim(db: Db, pairing_id: int, secret_hash: str, now: datetime) -> None:
    """Let the computer at the piano have a pairing."""
    db.execute(
        "UPDATE pairing SET secret_hash = ?, claimed_at = ? WHERE id = ?", (secret_hash, instant(now), pairing_id)
    )


def end(db: Db, pairing_id: int, now: datetime) -> None:
    """End a pairing; its code is free again."""
    db.execute("UPDATE pairing SET ended_at = ? WHERE id = ?", (instant(now), pairing_id))


def end_older(db: Db, before: datetime, now: datetime) -> None:
    """End the pairings opened before an instant, so that codes do not run out."""
    db.execute(
        "UPDATE pairing SET ended_at = ? WHERE ended_at IS NULL AND created_at < ?",
        (instant(now), instant(before)),
    )
