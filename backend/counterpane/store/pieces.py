"""Pieces as they came in, with the source file, so that a better reader can read them again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from counterpane.errors import NotFound
from counterpane.store.clock import instant
from counterpane.store.database import Db


@dataclass(frozen=True)
class PieceRow:
    """What lists show of a piece; the source and the MEI are fetched on their own."""

    id: int
    title: str
    composer: str
    meter: str
    measures: int
    tempo: float | None
    hands_guessed: bool
    warnings: tuple[str, ...]
    file_name: str
    source_hash: str
    added_at: str


@dataclass(frozen=True)
class NewPiece:
    """A piece to be kept."""

    title: str
    composer: str
    meter: str
    measures: int
    tempo: float | None
    hands_guessed: bool
    warnings: tuple[str, ...]
    file_name: str
    source: bytes
    source_hash: str
    mei: str


_PIECE = (
    "SELECT id, title, composer, meter, measures, tempo, hands_guessed, warnings, file_name, source_hash, "
    "added_at FROM piece"
)


def add(db: Db, new: NewPiece, now: datetime) -> int:
    """Keep a piece and return its id."""
    added = db.execute(
        "INSERT INTO piece (title, composer, meter, measures, tempo, hands_guessed, warnings, file_name, source, "
        "source_hash, mei, added_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            new.title,
            new.composer,
            new.meter,
            new.measures,
            new.tempo,
            int(new.hands_guessed),
            json.dumps(new.warnings),
            new.file_name,
            new.source,
            new.source_hash,
            new.mei,
            instant(now),
        ),
    )
    return int(added.lastrowid or 0)


def piece(db: Db, piece_id: int) -> PieceRow:
    """Return a piece; raises `NotFound`."""
    row = db.execute(f"{_PIECE} WHERE id = ?", (piece_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such piece in this studio.")
    return _piece(row)


def pieces(db: Db) -> tuple[PieceRow, ...]:
    """Return all pieces by title."""
    rows = db.execute(f"{_PIECE} ORDER BY title COLLATE NOCASE, id")
    return tuple(_piece(row) for row in rows)


def by_source(db: Db, source_hash: str) -> PieceRow | None:
    """Return the piece that came from exactly this file, if it is here."""
    row = db.execute(f"{_PIECE} WHERE source_hash = ?", (source_hash,)).fetchone()
    return _piece(row) if row else None


def source(db: Db, piece_id: int) -> bytes:
    """Return the score file as it came in."""
    row = db.execute("SELECT source FROM piece WHERE id = ?", (piece_id,)).fetchone()
    if row is None:
        raise NotFound("There is no such piece in this studio.")
    return bytes(row["source"])


def remove(db: Db, piece_id: int) -> None:
    """Take a piece out, with its analyses and corrections."""
    db.execute("DELETE FROM piece WHERE id = ?", (piece_id,))


def is_in_use(db: Db, piece_id: int) -> bool:
    """Say whether somebody works on a piece, or ever tried it."""
    used = db.execute(
        "SELECT EXISTS (SELECT 1 FROM assignment WHERE piece_id = :id) "
        "OR EXISTS (SELECT 1 FROM attempt WHERE piece_id = :id) "
        "OR EXISTS (SELECT 1 FROM puzzle_answer WHERE piece_id = :id) "
        "OR EXISTS (SELECT 1 FROM decision WHERE piece_id = :id)",
        {"id": piece_id},
    ).fetchone()
    return bool(used[0])


def _piece(row: Mapping[str, Any]) -> PieceRow:
    return PieceRow(
        id=row["id"],
        title=row["title"],
        composer=row["composer"],
        meter=row["meter"],
        measures=row["measures"],
        tempo=row["tempo"],
        hands_guessed=bool(row["hands_guessed"]),
        warnings=tuple(json.loads(row["warnings"])),
        file_name=row["file_name"],
        source_hash=row["source_hash"],
        added_at=row["added_at"],
    )
