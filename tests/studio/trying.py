"""Attempts as a student would send them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from counterpane.model.practice import Level, Passage, Patch
from counterpane.studio.attempts import Tried, record_attempt
from counterpane.studio.house import Studio
from counterpane.studio.pages.practice import AttemptPage
from tests.studio.conftest import NOW, SHORT, STUDENT
from tests.studio.playing import played


def patch(studio: Studio, number: int = 0, level: Level = "early") -> Patch:
    work = studio.library.work(SHORT)
    return studio.library.patches(work, level, None, "en")[number]


def tried(studio: Studio, client_id: str, **changes: Any) -> Tried:
    """Return a faultless attempt at the first patch, right hand, slowly."""
    first = patch(studio)
    piece = studio.library.work(SHORT).piece
    values: dict[str, Any] = {
        "client_id": client_id,
        "piece_id": SHORT,
        "patch_id": first.id,
        "step_id": "right-slow",
        "passage": Passage(first.first_measure, first.last_measure, "right", 46.0),
        "started_at": NOW,
        "seconds": 20.0,
        "source": "web-midi",
        "raw_events": played(piece, first.first_measure, first.last_measure, "right", 46.0),
    }
    return Tried(**(values | changes))


def record(studio: Studio, client_id: str, now: datetime = NOW, **changes: Any) -> AttemptPage:
    return record_attempt(studio, STUDENT, tried(studio, client_id, **changes), now)
