"""Backups while the studio is in use, and a restore that was tried."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest

from counterpane.errors import Conflict, NotFound, StoreError
from counterpane.store import attempts
from counterpane.store.backup import backup, check, restore
from counterpane.store.database import Store, open_store
from counterpane.store.migrations import newest_version
from counterpane.store.occupancy import occupied, occupy
from tests.store.conftest import NOW, STUDENT, new_attempt

_HOLDER = """
import sys, time
from pathlib import Path
from counterpane.store.occupancy import occupy
with occupy(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_backup_restored_is_the_studio(store: Store, path: Path, tmp_path: Path) -> None:
    """What was kept before the backup is there after the restore; what came later is not."""
    _try(store, "before")
    backup(path, tmp_path / "backup.db")
    _try(store, "after")
    store.close()
    moved = restore(tmp_path / "backup.db", path, replace=True, now=NOW)
    restored, earlier = open_store(path), open_store(moved or path)
    assert _clients(restored) == ["try-before"]
    assert _clients(earlier) == ["try-before", "try-after"]
    restored.close()
    earlier.close()


def test_a_backup_waits_for_nobody(store: Store, path: Path, tmp_path: Path) -> None:
    """A backup made while attempts keep arriving is sound and holds everything acknowledged before it began."""
    for number in range(20):
        _try(store, f"early-{number}")
    stop = threading.Event()
    writer = threading.Thread(target=_write_until, args=(store, stop))
    writer.start()
    backup(path, tmp_path / "backup.db")
    stop.set()
    writer.join(timeout=30)
    assert check(tmp_path / "backup.db") == newest_version()
    with closing(sqlite3.connect(tmp_path / "backup.db")) as db:
        kept = {row[0] for row in db.execute("SELECT client_id FROM attempt")}
    assert {f"try-early-{number}" for number in range(20)} <= kept


def _write_until(store: Store, stop: threading.Event) -> None:
    number = 0
    while not stop.is_set():
        _try(store, f"late-{number}")
        number += 1


def test_a_damaged_backup_is_refused(store: Store, path: Path, tmp_path: Path) -> None:
    """A page of the file overwritten, a file cut off, another database: the studio stays as it was."""
    for number in range(50):
        _try(store, f"{number}")
    good = tmp_path / "good.db"
    backup(path, good)
    store.close()
    before = path.read_bytes()
    torn = bytearray(good.read_bytes())
    torn[4096:12288] = b"\xff" * 8192
    (tmp_path / "torn.db").write_bytes(torn)
    (tmp_path / "cut.db").write_bytes(good.read_bytes()[:9000])
    (tmp_path / "text.db").write_text("hello " * 1000)
    sqlite3.connect(tmp_path / "other.db").execute("CREATE TABLE t (x)").connection.close()
    for name in ("torn.db", "cut.db", "text.db", "other.db"):
        with pytest.raises(StoreError, match=r"backup|studio file"):
            restore(tmp_path / name, path, replace=True, now=NOW)
    with pytest.raises(NotFound):
        restore(tmp_path / "none.db", path, replace=True, now=NOW)
    assert path.read_bytes() == before
    assert not list(tmp_path.glob("*.unfinished"))


def test_a_backup_of_a_newer_release_is_refused(store: Store, path: Path, tmp_path: Path) -> None:
    backup(path, tmp_path / "backup.db")
    with closing(sqlite3.connect(tmp_path / "backup.db")) as db:
        db.execute("INSERT INTO migration VALUES (99, 'later', 'x')")
        db.commit()
    with pytest.raises(StoreError, match="install a newer Counterpane"):
        restore(tmp_path / "backup.db", tmp_path / "new.db", replace=False, now=NOW)
    assert not (tmp_path / "new.db").exists()


def test_a_studio_in_place_is_not_overwritten_by_a_slip(store: Store, path: Path, tmp_path: Path) -> None:
    backup(path, tmp_path / "backup.db")
    with pytest.raises(Conflict, match="--replace"):
        restore(tmp_path / "backup.db", path, replace=False, now=NOW)


def test_a_studio_being_served_is_not_replaced(store: Store, path: Path, tmp_path: Path) -> None:
    """The lock is another process's, and goes with that process however it ends."""
    backup(path, tmp_path / "backup.db")
    held = subprocess.Popen(
        [
            sys.executable,
            "-c",
            _HOLDER,
            str(path),
        ],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert held.stdout is not None
    with held.stdout:
        assert held.stdout.readline() == "held\n"
        with pytest.raises(Conflict, match="stop `counterpane serve` first"):
            restore(tmp_path / "backup.db", path, replace=True, now=NOW)
        with pytest.raises(Conflict, match="another process"), occupy(path):
            pass
        held.kill()
        held.wait(timeout=10)
    assert not occupied(path)


def test_an_empty_place_gets_the_backup(store: Store, path: Path, tmp_path: Path) -> None:
    _try(store, "before")
    backup(path, tmp_path / "backup.db")
    assert restore(tmp_path / "backup.db", tmp_path / "new.db", replace=False, now=NOW) is None
    opened = open_store(tmp_path / "new.db")
    assert _clients(opened) == ["try-before"]
    opened.close()


def _try(store: Store, name: str) -> None:
    with store.write() as db:
        attempts.add(db, new_attempt(f"try-{name}"), NOW)


def _clients(store: Store) -> list[str]:
    with store.read() as db:
        return [
            row[0]
            for row in db.execute("SELECT client_id FROM attempt WHERE student_id = ? ORDER BY id", (STUDENT,))
        ]
