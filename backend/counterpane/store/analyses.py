"""Analyses as reports: one a piece, engine and revision of the corrections; older ones stay."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class AnalysisRow:
    """An analysis: its report as JSON text, and what it contradicts in the corrections."""

    engine: str
    revision: int
    key: str
    report: str
    conflicts: tuple[dict[str, Any], ...]


def keep(db: Db, piece_id: int, row: AnalysisRow, now: datetime) -> None:
    """Keep an analysis; the same engine's and revision's again is harmless."""
    db.execute(
        "INSERT OR IGNORE INTO analysis (piece_id, engine, revision, key, report, conflicts, made_at) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        (piece_id, row.engine, row.revision, row.key, row.report, json.dumps(row.conflicts), instant(now)),
    )


def newest(db: Db, piece_id: int, revision: int) -> AnalysisRow | None:
    """Return the newest analysis under a revision of the corrections."""
    row = db.execute(
        "SELECT engine, revision, key, report, conflicts FROM analysis "
        "WHERE piece_id = ? AND revision = ? ORDER BY id DESC LIMIT 1",
        (piece_id, revision),
    ).fetchone()
    return _analysis(row) if row else None


def key(db: Db, piece_id: int) -> str:
    """Return the key of a piece by the newest analysis."""
    row = db.execute(
        "SELECT key FROM analysis WHERE piece_id = ? ORDER BY id DESC LIMIT 1", (piece_id,)
    ).fetchone()
    return str(row["key"]) if row else ""


def keys(db: Db) -> dict[int, str]:
    """Return the key of each piece by the newest analysis."""
    rows = db.execute("SELECT piece_id, key FROM analysis ORDER BY id")
    return {row["piece_id"]: row["key"] for row in rows}


def _analysis(row: Mapping[str, Any]) -> AnalysisRow:
    return AnalysisRow(
        row["engine"], row["revision"], row["key"], row["report"], tuple(json.loads(row["conflicts"]))
    )
