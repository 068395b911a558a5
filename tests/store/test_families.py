"""A family can take its data away and have it erased."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from counterpane.errors import NotFound
from counterpane.store import assignments, attempts, families, links, people
from counterpane.store.database import Store
from tests.store.conftest import NOW, STUDENT, new_attempt

SECRET_WORDS = b"a nickname that is found nowhere else"


def test_no_table_is_forgotten(store: Store) -> None:
    """Every table that points to a person or a student is part of a family's data."""
    with store.read() as db:
        tables = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        pointing = {
            table
            for table in tables
            for key in db.execute(f"PRAGMA foreign_key_list({table})")
            if key["table"] in ("person", "student")
        }
    assert pointing <= set(families.ABOUT_STUDENT)


def test_an_export_holds_everything_but_secrets(store: Store) -> None:
    with store.write() as db:
        attempts.add(db, new_attempt("first-try"), NOW)
        links.add(db, STUDENT, "the hash of a token", True, NOW)
        assignments.add_note(db, STUDENT, "Slowly.", NOW)
        tables = families.export(db, STUDENT)
    text = json.dumps(tables)
    assert tables["attempt"][0]["raw_events"] == ((0.0, 144, 60, 80), (480.5, 128, 60, 0))
    assert tables["note"][0]["text"] == "Slowly."
    assert tables["student"][0]["rest_days"] == [6]
    assert "the hash of a token" not in text


def test_erasing_leaves_nothing_behind(store: Store, path: Path) -> None:
    """After an erasure no byte of the name is left in the studio file or beside it."""
    with store.write() as db:
        added = people.add_student(db, people.NewStudent(SECRET_WORDS.decode(), "en", "early", 20, (), None), NOW)
        parent = people.add_person(db, "parent", "Kim", "en", NOW)
        people.add_guardian(db, parent, added)
        attempts.add(db, new_attempt("first-try", student_id=added), NOW)
    store.forget_history()
    assert SECRET_WORDS in path.read_bytes()
    with store.write() as db:
        families.erase(db, added)
    store.forget_history()
    assert all(SECRET_WORDS not in file.read_bytes() for file in path.parent.iterdir())
    with store.read() as db:
        for table, column in families.ABOUT_STUDENT.items():
            left = db.execute(f"SELECT count(*) FROM {table} WHERE {column} = ?", (added,))  # noqa: S608
            assert left.fetchone()[0] == 0
        with pytest.raises(NotFound):
            people.person(db, parent)


def test_a_parent_of_two_stays_for_the_other(store: Store) -> None:
    with store.write() as db:
        other = people.add_student(db, people.NewStudent("Alex", "en", "early", 20, (), None), NOW)
        parent = people.add_person(db, "parent", "Kim", "en", NOW)
        people.add_guardian(db, parent, STUDENT)
        people.add_guardian(db, parent, other)
        families.erase(db, STUDENT)
        assert [child.person.id for child in people.children_of(db, parent)] == [other]
