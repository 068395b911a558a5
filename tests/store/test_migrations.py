"""Every older studio file opens in this release with everything in it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from counterpane.errors import StoreError
from counterpane.store import migrations
from counterpane.store.database import APPLICATION_ID, connect, open_store
from counterpane.store.migrations import Migration, all_migrations, migrate, newest_version, version_of
from tests.store.conftest import NOW


@pytest.mark.parametrize("older", range(newest_version()))
def test_an_older_file_is_brought_to_the_newest_version(path: Path, older: int) -> None:
    """A file of each earlier version, with data in it, has the same tables as a new one and keeps its data."""
    with closing(connect(path)) as db:
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        assert migrate(db, NOW, up_to=older) == older
        if older:
            db.execute(
                "INSERT INTO person (role, nickname, language, created_at) VALUES ('parent', 'Kim', 'en', 'x')"
            )
    store = open_store(path)
    with store.read() as db:
        assert version_of(db) == newest_version()
        kept = [row["nickname"] for row in db.execute("SELECT nickname FROM person")]
        assert kept == (["Kim"] if older else [])
        assert _schema(db) == _fresh_schema()
    store.close()


def test_migrations_are_numbered_without_a_gap() -> None:
    assert [one.version for one in all_migrations()] == list(range(1, newest_version() + 1))


def test_migrating_again_changes_nothing(path: Path) -> None:
    with closing(connect(path)) as db:
        migrate(db, NOW)
        before = _schema(db)
        assert migrate(db, NOW) == newest_version()
        assert _schema(db) == before


def test_a_migration_that_fails_leaves_no_trace(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its first half is undone together with its record; what was applied before stays."""
    broken = Migration(2, "broken", "CREATE TABLE half (x TEXT) STRICT;\nCREATE TABLE person (x TEXT) STRICT;\n")
    monkeypatch.setattr(migrations, "all_migrations", lambda: (all_migrations()[0], broken))
    with closing(connect(path)) as db:
        with pytest.raises(sqlite3.OperationalError, match="person"):
            migrate(db, NOW)
        assert version_of(db) == 1
        assert db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'half'").fetchone()[0] == 0


def test_a_newer_file_is_left_alone(path: Path) -> None:
    """A studio that a newer release wrote is refused, with what to do."""
    with closing(connect(path)) as db:
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        migrate(db, NOW)
        db.execute("INSERT INTO migration VALUES (99, 'later', 'x')")
    with pytest.raises(StoreError, match=r"schema version 99.*install a newer Counterpane"):
        open_store(path)


def _schema(db: sqlite3.Connection) -> list[tuple[str, str]]:
    rows = db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name")
    return [(row["name"], row["sql"]) for row in rows]


def _fresh_schema() -> list[tuple[str, str]]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        db.row_factory = sqlite3.Row
        migrate(db, NOW)
        return _schema(db)
