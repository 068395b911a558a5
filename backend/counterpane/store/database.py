"""The studio file: one SQLite database, one writer at a time, readers on the side.

Write-ahead logging lets readers go on while somebody writes. SQLite's own waiting for a lock is unfair, so writers
queue at a lock of this process first. Every write is one transaction, and `synchronous=FULL` makes a commit wait
for the disk: what was acknowledged survives a killed process and a pulled plug. `secure_delete` overwrites what
is deleted.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock, local

from counterpane.errors import Conflict, NotFound, StoreError
from counterpane.store.migrations import migrate, version_of

Db = sqlite3.Connection
APPLICATION_ID = 0x43505445  # "CPTE": tells a studio file from any other SQLite database
BUSY_MS = 5000
_PRAGMAS = (
    f"PRAGMA busy_timeout = {BUSY_MS}",
    "PRAGMA foreign_keys = ON",
    "PRAGMA secure_delete = ON",
    "PRAGMA synchronous = FULL",
    "PRAGMA temp_store = MEMORY",
)


class Store:
    """An open studio file. Safe between threads; `close` it at the end."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._writing = Lock()
        self._mine = local()
        self._readers: list[sqlite3.Connection] = []
        self._readers_lock = Lock()
        self._writer = connect(path)

    @contextmanager
    def write(self) -> Iterator[Db]:
        """Yield a connection inside one transaction: all of it is kept, or nothing."""
        with self._writing, translated():
            self._writer.execute("BEGIN IMMEDIATE")
            try:
                yield self._writer
                self._writer.execute("COMMIT")
            except BaseException:
                if self._writer.in_transaction:
                    self._writer.execute("ROLLBACK")
                raise

    @contextmanager
    def read(self) -> Iterator[Db]:
        """Yield a connection that sees one consistent state and cannot write; it does not wait for writers."""
        with translated():
            db = self._reader()
            nested = db.in_transaction
            if not nested:
                db.execute("BEGIN")
            try:
                yield db
            finally:
                if not nested:
                    db.execute("COMMIT")

    def schema_version(self) -> int:
        """Return the schema version of the file."""
        with self.read() as db:
            return version_of(db)

    def forget_history(self) -> None:
        """Empty the write-ahead log, so that no deleted content is left beside the file."""
        with self._writing, translated():
            self._writer.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def close(self) -> None:
        """Close all connections; the write-ahead log is folded into the file."""
        with self._readers_lock:
            for reader in self._readers:
                reader.close()
            self._readers.clear()
        self._writer.close()

    def _reader(self) -> sqlite3.Connection:
        found: sqlite3.Connection | None = getattr(self._mine, "reader", None)
        if found is None:
            found = connect(self.path)
            found.execute("PRAGMA query_only = ON")
            self._mine.reader = found
            with self._readers_lock:
                self._readers.append(found)
        return found


def create(path: Path, now: datetime) -> Store:
    """Make a new studio file; raises `Conflict` when there is already a file."""
    if path.exists():
        raise Conflict(f"{path} exists already: choose another name, or serve it as it is.")
    if not path.parent.is_dir():
        raise StoreError(f"The folder {path.parent} does not exist: make it first, or choose another place.")
    with translated():
        db = connect(path)
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        migrate(db, now)
        db.close()
    return Store(path)


def open_store(path: Path) -> Store:
    """Open a studio file and bring it to this release's schema; raises `NotFound` or `StoreError`."""
    if not path.is_file():
        raise NotFound(f"There is no studio file at {path}: make one with `counterpane studio create {path}`.")
    with translated():
        db = connect(path)
        try:
            refuse_foreign(db, path)
            migrate(db, datetime.now(UTC))
        finally:
            db.close()
    return Store(path)


def connect(path: Path) -> sqlite3.Connection:
    """Open a connection as every part of this package uses it: explicit transactions, rows by name."""
    try:
        db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        db.row_factory = sqlite3.Row
        for pragma in _PRAGMAS:
            db.execute(pragma)
        if db.execute("PRAGMA journal_mode = WAL").fetchone()[0] != "wal":
            raise StoreError(f"{path} cannot be opened with a write-ahead log: keep it on a local disk.")
    except sqlite3.DatabaseError as error:
        raise sentence_for(error, path) from error
    return db


def refuse_foreign(db: sqlite3.Connection, path: Path) -> None:
    """Raise `StoreError` when a database is not a studio file."""
    if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise StoreError(f"{path} is not a studio file: give the file that `counterpane studio create` made.")


@contextmanager
def translated() -> Iterator[None]:
    """Turn SQLite's exceptions into ours, each with one sentence."""
    try:
        yield
    except sqlite3.Error as error:
        raise sentence_for(error, None) from error


def sentence_for(error: sqlite3.Error, path: Path | None) -> StoreError:
    """Return our error for one of SQLite's."""
    name = str(path) if path else "The studio file"
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    if isinstance(error, sqlite3.IntegrityError):
        return Conflict(f"This contradicts what is kept already ({error}): load the page again.")
    if code == sqlite3.SQLITE_FULL:
        return StoreError(f"{name} cannot grow, the disk is full: nothing was changed; free some space.")
    if code in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
        return StoreError(f"{name} is busy in another program: nothing was changed; try again.")
    if code == sqlite3.SQLITE_READONLY:
        return StoreError(f"{name} may not be written: nothing was changed; check its permissions.")
    if code in {sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT}:
        return StoreError(f"{name} is damaged or not a studio file: restore a backup.")
    return StoreError(f"{name} could not be used ({error}): nothing was changed.")
