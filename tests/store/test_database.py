"""One file, one writer: what a transaction promises."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest

from counterpane.errors import Conflict, NotFound, StoreError
from counterpane.store import attempts, people
from counterpane.store.database import Store, create, open_store
from tests.store.conftest import NOW, STUDENT, new_attempt


def test_every_table_is_strict(store: Store) -> None:
    """A column holds what it says: text in a number's place is refused by SQLite itself."""
    with store.read() as db:
        tables = db.execute("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'").fetchall()
    kept = {name: strict for name, strict in tables if not name.startswith("sqlite_")}
    assert len(kept) >= 17
    assert set(kept.values()) == {1}


def test_the_file_is_opened_as_the_design_says(store: Store) -> None:
    """Write-ahead log, foreign keys, commits that wait for the disk, deleted content overwritten."""
    with store.write() as db:
        values = {
            name: db.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "foreign_keys", "synchronous", "secure_delete")
        }
    assert values == {"journal_mode": "wal", "foreign_keys": 1, "synchronous": 2, "secure_delete": 1}


def test_half_a_write_is_no_write(store: Store) -> None:
    """When something fails in the middle, nothing of it stays."""
    with pytest.raises(Conflict), store.write() as db:
        people.add_guardian(db, people.add_person(db, "parent", "Kim", "en", NOW), student_id=99)
    with store.read() as db:
        assert db.execute("SELECT count(*) FROM person WHERE role = 'parent'").fetchone()[0] == 0


def test_a_reader_cannot_write(store: Store) -> None:
    with pytest.raises(StoreError), store.read() as db:
        people.add_person(db, "parent", "Kim", "en", NOW)


def test_a_reader_sees_one_state_while_somebody_writes(store: Store) -> None:
    """A page is read from one state of the studio, however many writes happen meanwhile."""
    with store.read() as db:
        before = len(people.students(db))
        writer = threading.Thread(target=_add_student, args=(store,))
        writer.start()
        writer.join(timeout=10)
        assert len(people.students(db)) == before
    with store.read() as db:
        assert len(people.students(db)) == before + 1


def _add_student(store: Store) -> None:
    with store.write() as db:
        people.add_student(db, people.NewStudent("Alex", "en", "early", 20, (), None), NOW)


def test_writers_queue(store: Store) -> None:
    """Sixteen writers at once all get their turn and none is refused."""
    threads = [threading.Thread(target=_add_student, args=(store,)) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    with store.read() as db:
        assert len(people.students(db)) == 17


def test_an_attempt_is_never_rewritten(store: Store) -> None:
    """The database itself refuses to change what was played."""
    with store.write() as db:
        attempts.add(db, new_attempt("first-try"), NOW)
    with pytest.raises(StoreError, match="never rewritten"), store.write() as db:
        db.execute("UPDATE attempt SET tempo = 100")


def test_a_contradiction_is_one_sentence(store: Store) -> None:
    with pytest.raises(Conflict, match="load the page again"), store.write() as db:
        attempts.add(db, new_attempt("first-try", student_id=99), NOW)
    with pytest.raises(Conflict), store.write() as db:
        db.execute("UPDATE student SET minutes = 500 WHERE person_id = ?", (STUDENT,))


def test_what_is_not_a_studio_file_is_refused(tmp_path: Path) -> None:
    """Another database, a text file, a missing file, a taken name, a missing folder: one sentence each."""
    other = tmp_path / "other.db"
    sqlite3.connect(other).execute("CREATE TABLE t (x)").connection.close()
    text = tmp_path / "text.db"
    text.write_text("not a database, but long enough to look like one" * 20)
    with pytest.raises(StoreError, match="not a studio file"):
        open_store(other)
    with pytest.raises(StoreError, match="damaged or not a studio file"):
        open_store(text)
    with pytest.raises(NotFound, match="counterpane studio create"):
        open_store(tmp_path / "none.db")
    with pytest.raises(Conflict, match="exists already"):
        create(text, NOW)
    with pytest.raises(StoreError, match="does not exist"):
        create(tmp_path / "no" / "where.db", NOW)
    assert text.read_text().startswith("not a database")
