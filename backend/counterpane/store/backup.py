"""Backups while the studio is in use, and a restore that looks before it writes."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from counterpane.errors import Conflict, NotFound, StoreError
from counterpane.store.database import refuse_foreign, sentence_for, translated
from counterpane.store.migrations import refuse_newer, version_of
from counterpane.store.occupancy import occupied


def backup(studio: Path, target: Path) -> int:
    """Copy a studio file, in use or not, to `target`; returns the bytes written.

    The copy is made beside `target`, checked, and put in place in one step: a broken backup never replaces a
    good one.
    """
    if not studio.is_file():
        raise NotFound(f"There is no studio file at {studio}: give the file that is served.")
    _copy(studio, target)
    return target.stat().st_size


def restore(source: Path, studio: Path, *, replace: bool, now: datetime) -> Path | None:
    """Put a backup in place as `studio`; returns where an earlier file was moved to, None if there was none.

    Raises `StoreError` when the backup is damaged, not a studio, or of a newer release, and `Conflict` when
    the studio is being served, or exists and `replace` is False. Nothing is changed then.
    """
    check(source)
    if studio.exists() and not replace:
        raise Conflict(f"{studio} exists already: add --replace to put the backup in its place.")
    if occupied(studio):
        raise Conflict(f"{studio} is being served: stop `counterpane serve` first.")
    moved = _move_aside(studio, now) if studio.exists() else None
    _copy(source, studio)
    return moved


def check(source: Path) -> int:
    """Return the schema version of a sound backup; raises `NotFound` or `StoreError` with what is wrong."""
    if not source.is_file():
        raise NotFound(f"There is no backup at {source}: give a file that `counterpane backup` made.")
    try:
        with closing(sqlite3.connect(f"file:{source}?mode=ro", uri=True)) as db:
            refuse_foreign(db, source)
            refuse_newer(db)
            _refuse_damaged(db, source)
            return version_of(db)
    except sqlite3.DatabaseError as error:
        raise sentence_for(error, source) from error


def _refuse_damaged(db: sqlite3.Connection, source: Path) -> None:
    found = [row[0] for row in db.execute("PRAGMA integrity_check(3)")]
    if found != ["ok"]:
        raise StoreError(f"{source} is damaged ({found[0]}): use an older backup.")
    if db.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise StoreError(f"{source} is damaged (rows point to rows that are gone): use an older backup.")


def _copy(source: Path, target: Path) -> None:
    if not target.parent.is_dir():
        raise StoreError(f"The folder {target.parent} does not exist: make it first, or choose another place.")
    unfinished = target.with_name(target.name + ".unfinished")
    unfinished.unlink(missing_ok=True)
    try:
        with translated(), closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(unfinished)) as new:
            old.backup(new, pages=256, sleep=0.005)
            new.execute("PRAGMA journal_mode = DELETE")
        check(unfinished)
        _flush(unfinished)
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)


def _flush(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _move_aside(studio: Path, now: datetime) -> Path:
    """Move a studio file and its write-ahead log out of the way, keeping them together."""
    aside = studio.with_name(f"{studio.name}.before-{now:%Y%m%d-%H%M%S}")
    for ending in ("", "-wal", "-shm"):
        part = studio.with_name(studio.name + ending)
        if part.exists():
            part.replace(aside.with_name(aside.name + ending))
    return aside
