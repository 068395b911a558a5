"""A real studio file for every test, with one student and one piece in it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from counterpane.store import people, pieces
from counterpane.store.attempts import NewAttempt
from counterpane.store.database import Store, create
from counterpane.store.packing import RawEvent

NOW = datetime(2026, 3, 2, 16, 0, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "studio.db"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    made = create(path, NOW)
    with made.write() as db:
        people.found_studio(db, "Studio am Fluss", "hash", NOW)
        people.add_student(db, people.NewStudent("Robin", "en", "early", 20, (6,), None), NOW)
        pieces.add(db, new_piece(), NOW)
    yield made
    made.close()


STUDENT = 2
PIECE = 1


def new_piece(source: bytes = b"<score/>") -> pieces.NewPiece:
    return pieces.NewPiece(
        "Two Lanterns", "", "4/4", 16, 80.0, False, (), "a.musicxml", source, str(source), "<mei/>"
    )


def new_attempt(
    client_id: str,
    *,
    student_id: int = STUDENT,
    started_at: datetime = NOW,
    raw_events: tuple[RawEvent, ...] = ((0.0, 144, 60, 80), (480.5, 128, 60, 0)),
) -> NewAttempt:
    return NewAttempt(
        student_id=student_id,
        client_id=client_id,
        piece_id=PIECE,
        patch_id="p1",
        step_id="right-slow",
        first_measure=1,
        last_measure=4,
        hands="right",
        tempo=60.0,
        started_at=started_at,
        day="2026-03-02",
        seconds=20.0,
        source="web-midi",
        self_judgement=None,
        judged_good=None,
        raw_events=raw_events,
        app_version="1",
    )
