"""Numbered migrations: each is applied together with its record, in one transaction.

A migration is a file `NNNN_name.sql` in this folder. What was released is never edited; what comes next gets the
next number.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from importlib.resources import files

from counterpane.errors import StoreError

_RECORD = """
CREATE TABLE IF NOT EXISTS migration (
  version INTEGER PRIMARY KEY, name TEXT NOT NULL, applied_at TEXT NOT NULL
) STRICT
"""


@dataclass(frozen=True)
class Migration:
    """One step from version - 1 to version."""

    version: int
    name: str
    sql: str


def all_migrations() -> tuple[Migration, ...]:
    """Return the migrations of this release in order; they are numbered from 1 without a gap."""
    found = sorted(item.name for item in files(__name__).iterdir() if item.name.endswith(".sql"))
    migrations = tuple(
        Migration(int(name[:4]), name[5:-4], (files(__name__) / name).read_text(encoding="utf-8"))
        for name in found
    )
    assert [one.version for one in migrations] == list(range(1, len(migrations) + 1))
    return migrations


def newest_version() -> int:
    """Return the schema version that this release writes."""
    return len(all_migrations())


def version_of(db: sqlite3.Connection) -> int:
    """Return the schema version of a studio file, 0 when it has none yet."""
    known = db.execute("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'migration'").fetchone()
    return int(db.execute("SELECT coalesce(max(version), 0) FROM migration").fetchone()[0]) if known else 0


def migrate(db: sqlite3.Connection, now: datetime, *, up_to: int | None = None) -> int:
    """Bring a studio file to the newest version (or `up_to`) and return that version.

    Raises `StoreError` when the file was written by a newer release: it is left as it is.
    """
    refuse_newer(db)
    for migration in all_migrations()[:up_to]:
        _apply(db, migration, now)
    return version_of(db)


def refuse_newer(db: sqlite3.Connection) -> None:
    """Raise `StoreError` when a studio file was written by a newer release."""
    if version_of(db) > newest_version():
        raise StoreError(
            f"This studio file has schema version {version_of(db)} and this release knows versions up to "
            f"{newest_version()}: install a newer Counterpane."
        )


def _apply(db: sqlite3.Connection, migration: Migration, now: datetime) -> None:
    """Apply one migration and its record, both or neither; one already applied is passed over."""
    db.execute("BEGIN IMMEDIATE")
    try:
        db.execute(_RECORD)
        if version_of(db) < migration.version:
            for statement in _statements(migration.sql):
                db.execute(statement)
            db.execute(
                "INSERT INTO migration (version, name, applied_at) VALUES (?, ?, ?)",
                (migration.version, migration.name, now.isoformat()),
            )
        db.execute("COMMIT")
    except BaseException:
        db.execute("ROLLBACK")
        raise


def _statements(sql: str) -> Iterator[str]:
    """Divide a script into statements; a trigger's inner semicolons do not end it."""
    pending = ""
    for line in sql.splitlines(keepends=True):
        pending += line
        if pending.strip() and sqlite3.complete_statement(pending):
            yield pending
            pending = ""
    assert not pending.strip()
