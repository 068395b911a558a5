"""Links by which students and parents come in. Tokens and PINs are kept as hashes alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from counterpane.errors import NotFound
from counterpane.store.clock import instant, moment
from counterpane.store.database import Db


@dataclass(frozen=True)
class LinkRow:
    """A link, used or not, revoked or not."""

    id: int
    person_id: int
    pin_required: bool
    pin_hash: str | None
    failed_pins: int
    locked_until: datetime | None
    created_at: str
    last_used_at: str | None
    revoked: bool


def add(db: Db, person_id: int, token_hash: str, pin_required: bool, now: datetime) -> int:
    """Add a link and return its id."""
    added = db.execute(
        "INSERT INTO link (person_id, token_hash, pin_required, created_at) VALUES (?, ?, ?, ?)",
        (person_id, token_hash, int(pin_required), instant(now)),
    )
    return int(added.lastrowid or 0)


def by_token(db: Db, token_hash: str) -> LinkRow | None:
    """Return the link with this token's hash, None when there is none or it was revoked."""
    row = db.execute("SELECT * FROM link WHERE token_hash = ? AND revoked_at IS NULL", (token_hash,)).fetchone()
    return _link(row) if row else None


def link(db: Db, link_id: int) -> LinkRow:
    """Return a link; raises `NotFound`."""
    row = db.execute("SELECT * FROM link WHERE id = ?", (link_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such link in this studio.")
    return _link(row)


def links_of(db: Db, person_id: int) -> tuple[LinkRow, ...]:
    """Return a person's links, oldest first."""
    return tuple(
        _link(row) for row in db.execute("SELECT * FROM link WHERE person_id = ? ORDER BY id", (person_id,))
    )


def used(db: Db, link_id: int, now: datetime) -> None:
    """Remember that a link opened the studio; failed PINs before it are forgiven."""
    db.execute(
        "UPDATE link SET last_used_at = ?, failed_pins = 0, locked_until = NULL WHERE id = ?",
        (instant(now), link_id),
    )


def pin_failed(db: Db, link_id: int, locked_until: datetime | None) -> None:
    """Count a wrong PIN, and lock the link until an instant where that is due."""
    db.execute(
        "UPDATE link SET failed_pins = failed_pins + 1, locked_until = ? WHERE id = ?",
        (instant(locked_until) if locked_until else None, link_id),
    )


def set_pin(db: Db, link_id: int, pin_hash: str) -> None:
    """Keep the hash of a PIN."""
    db.execute("UPDATE link SET pin_hash = ?, failed_pins = 0 WHERE id = ?", (pin_hash, link_id))


def revoke(db: Db, link_id: int, now: datetime) -> None:
    """Revoke a link and end the sessions that came in by it."""
    db.execute("UPDATE link SET revoked_at = coalesce(revoked_at, ?) WHERE id = ?", (instant(now), link_id))
    db.execute("DELETE FROM session WHERE link_id = ?", (link_id,))


def _link(row: Mapping[str, Any]) -> LinkRow:
    return LinkRow(
        id=row["id"],
        person_id=row["person_id"],
        pin_required=bool(row["pin_required"]),
        pin_hash=row["pin_hash"],
        failed_pins=row["failed_pins"],
        locked_until=moment(row["locked_until"]) if row["locked_until"] else None,
        created_at=row["created_at"],
        last_used_at=row["last_used_at"],
        revoked=row["revoked_at"] is not None,
    )
