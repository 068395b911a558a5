"""Fingers that the teacher wrote into a piece."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime

from counterpane.store.clock import instant
from counterpane.store.database import Db


def write(db: Db, piece_id: int, fingers: Mapping[str, int], now: datetime) -> None:
    """Replace the teacher's fingers of a piece."""
    db.execute(
        "INSERT INTO fingering (piece_id, fingers, written_at) VALUES (?, ?, ?) "
        "ON CONFLICT (piece_id) DO UPDATE SET fingers = excluded.fingers, written_at = excluded.written_at",
        (piece_id, json.dumps(dict(fingers)), instant(now)),
    )


def written(db: Db, piece_id: int) -> dict[str, int]:
    """Return the teacher's fingers of a piece by note id."""
    row = db.execute("SELECT fingers FROM fingering WHERE piece_id = ?", (piece_id,)).fetchone()
    return dict(json.loads(row["fingers"])) if row else {}
