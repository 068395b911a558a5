"""The teacher's corrections of an analysis: a layer of their own, every revision kept."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from counterpane.store.clock import instant
from counterpane.store.database import Db


def newest(db: Db, piece_id: int) -> tuple[int, list[dict[str, Any]]]:
    """Return the newest revision's number and its corrections; 0 and none where nothing was corrected."""
    row = db.execute(
        "SELECT revision, corrections FROM correction WHERE piece_id = ? ORDER BY revision DESC LIMIT 1",
        (piece_id,),
    ).fetchone()
    return (row["revision"], json.loads(row["corrections"])) if row else (0, [])


def revision(db: Db, piece_id: int) -> int:
    """Return the newest revision's number, 0 where nothing was corrected."""
    row = db.execute("SELECT coalesce(max(revision), 0) FROM correction WHERE piece_id = ?", (piece_id,))
    return int(row.fetchone()[0])


def add(db: Db, piece_id: int, corrections: list[dict[str, Any]], now: datetime) -> int:
    """Keep a new revision and return its number."""
    number = revision(db, piece_id) + 1
    db.execute(
        "INSERT INTO correction (piece_id, revision, corrections, made_at) VALUES (?, ?, ?, ?)",
        (piece_id, number, json.dumps(corrections), instant(now)),
    )
    return number
