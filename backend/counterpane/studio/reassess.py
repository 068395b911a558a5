"""Hears stored attempts again with the present listening engine; earlier assessments stay beside the new ones."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from counterpane.errors import CounterpaneError
from counterpane.listening.engine import ENGINE
from counterpane.store import assessments
from counterpane.store import attempts as keeping
from counterpane.studio.attempts import passage_of, step_of
from counterpane.studio.decisions import decided
from counterpane.studio.hearing import hear
from counterpane.studio.history import assignment_for, history
from counterpane.studio.house import Studio


@dataclass(frozen=True)
class Reassessed:
    """How many attempts were heard again, and which could not be, each with the reason."""

    engine: str
    heard: int
    not_heard: tuple[tuple[int, str], ...]


def reassess(
    studio: Studio,
    since: date | None,
    now: datetime,
    progress: Callable[[int, int], None] = lambda _done, _all: None,
) -> Reassessed:
    """Hear every attempt from `since` on that this engine has not heard yet; `progress` is told (done, all)."""
    with studio.store.read() as db:
        waiting = keeping.heard_by_others(db, ENGINE, since.isoformat() if since else "")
    heard = 0
    failed: list[tuple[int, str]] = []
    for number, attempt_id in enumerate(waiting):
        progress(number, len(waiting))
        try:
            _reassess_one(studio, attempt_id, now)
            heard += 1
        except CounterpaneError as error:
            failed.append((attempt_id, str(error)))
    progress(len(waiting), len(waiting))
    return Reassessed(ENGINE, heard, tuple(failed))


def _reassess_one(studio: Studio, attempt_id: int, now: datetime) -> None:
    with studio.store.read() as db:
        row = keeping.attempt(db, attempt_id)
        events = keeping.raw_events(db, attempt_id)
    past = history(studio, row.student_id)
    work = studio.library.work(row.piece_id)
    step = step_of(past, assignment_for(studio, past, row.piece_id), row)
    found = hear(
        work,
        passage_of(row),
        events,
        step,
        decisions=decided(studio, row.student_id, work, past.language),
        level=past.level,
        language=past.language,
    )
    with studio.store.write() as db:
        assessments.add(db, attempt_id, found, now)
