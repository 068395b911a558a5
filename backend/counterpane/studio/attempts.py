"""Attempts: heard, kept once, and answered with what to try next."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, cast

from counterpane.errors import CounterpaneError, NotAllowed, NotFound
from counterpane.listening.assess import check_measures
from counterpane.model.piece import Hands
from counterpane.model.practice import Assignment, AttemptSummary, Passage, Step
from counterpane.practice.ladders import ladder_for
from counterpane.practice.progress import is_good
from counterpane.store import assessments, pieces
from counterpane.store import attempts as keeping
from counterpane.store.assessments import AssessmentRow
from counterpane.store.attempts import AttemptRow
from counterpane.store.packing import RawEvent
from counterpane.studio.access import Asker
from counterpane.studio.attempt_cards import attempt_card
from counterpane.studio.decisions import decided
from counterpane.studio.hearing import hear
from counterpane.studio.history import assignment_for, history
from counterpane.studio.house import Studio
from counterpane.studio.library import Work
from counterpane.studio.next_step import next_step
from counterpane.studio.pages.pieces import AttemptCard, Picture
from counterpane.studio.pages.practice import AttemptPage, AttemptRecord, FindingCard, Source
from counterpane.studio.pages.report import AssessmentReport
from counterpane.studio.past import History, patch_with

_ROLES_WITH_ALL_FINDINGS = ("teacher",)


@dataclass(frozen=True)
class Tried:
    """An attempt as the page sends it. `started_at` is aware; its own zone says on which day it was played."""

    client_id: str
    piece_id: int
    patch_id: str
    step_id: str
    passage: Passage
    started_at: datetime
    seconds: float
    source: Source
    raw_events: tuple[RawEvent, ...] = ()
    self_judgement: tuple[int, int, int] | None = None
    app_version: str = ""


def record_attempt(studio: Studio, student_id: int, tried: Tried, now: datetime) -> AttemptPage:
    """Hear an attempt, keep it, and return what was heard and what to try next.

    The same `client_id` again returns the first result and adds nothing. Should hearing fail by a fault of ours,
    the attempt is kept all the same, to be heard by `reassess` later.
    """
    known = _known(studio, student_id, tried.client_id)
    if known is not None:
        return attempt_page(studio, known, repeated=True)
    _check(tried)
    work = studio.library.work(tried.piece_id)
    check_measures(work.piece, tried.passage)
    past = history(studio, student_id)
    assigned = assignment_for(studio, past, tried.piece_id)
    step = step_of(past, assigned, tried)
    heard = _hear(studio, work, past, tried, step)
    new = _new(student_id, tried, step, now)
    with studio.store.write() as db:
        # Looked for again inside the transaction: the same attempt may have come twice at one instant.
        known = keeping.by_client_id(db, student_id, tried.client_id)
        attempt_id = known or keeping.add(db, new, now)
        if known is None and heard is not None:
            assessments.add(db, attempt_id, heard, now)
    return attempt_page(studio, attempt_id, repeated=known is not None)


def attempt_page(
    studio: Studio, attempt_id: int, *, repeated: bool = False, everything: bool = False
) -> AttemptPage:
    """Return an attempt with its newest assessment; with `everything` all findings, not the student's alone."""
    with studio.store.read() as db:
        row = keeping.attempt(db, attempt_id)
        heard = assessments.newest(db, attempt_id)
    past = history(studio, row.student_id)
    report = _report(heard, everything)
    findings = cast("list[dict[str, Any]]", (report or {}).get("all_findings" if everything else "findings", []))
    return AttemptPage(
        attempt=attempt_card(row),
        piece_id=row.piece_id,
        student_id=row.student_id,
        assessment=cast("AssessmentReport | None", report),
        findings=tuple(_finding(one) for one in findings),
        pictures=tuple(Picture(**one) for one in (heard.pictures if heard else ())),
        next=next_step(past, assignment_for(studio, past, row.piece_id), row),
        repeated=repeated,
    )


def attempt_record(studio: Studio, asker: Asker, attempt_id: int) -> AttemptRecord:
    """Return an attempt with its raw key events; raises where the asker may not see it."""
    own = {student.id for student in asker.students}
    everything = asker.person.role in _ROLES_WITH_ALL_FINDINGS
    try:
        with studio.store.read() as db:
            row = keeping.attempt(db, attempt_id)
            events = keeping.raw_events(db, attempt_id)
    except NotFound:
        if everything:
            raise
        raise NotAllowed("You may not see this attempt.") from None
    if not everything and row.student_id not in own:
        raise NotAllowed("You may not see this attempt.")
    return AttemptRecord(attempt_page(studio, attempt_id, everything=everything), events)


def attempts(
    studio: Studio, student_id: int, piece_id: int, patch_id: str | None, limit: int
) -> tuple[AttemptCard, ...]:
    """Return a student's attempts on a piece or one patch of it, newest first."""
    with studio.store.read() as db:
        pieces.piece(db, piece_id)
        return tuple(attempt_card(row) for row in keeping.newest(db, student_id, piece_id, patch_id, limit))


def passage_of(row: AttemptRow) -> Passage:
    """Return what a stored attempt is measured against."""
    return Passage(row.first_measure, row.last_measure, cast(Hands, row.hands), row.tempo)


def step_of(past: History, assigned: Assignment, tried: Tried | AttemptRow) -> Step | None:
    """Return the step of the ladder that an attempt was made on, None where patches were cut anew since."""
    passage = tried.passage if isinstance(tried, Tried) else tried
    patch = patch_with(assigned.patches, tried.patch_id, passage.first_measure, passage.last_measure)
    if patch is None:
        return None
    ladder = ladder_for(patch, past.level, past.ladders)
    return next((step for step in ladder.steps if step.id == tried.step_id), None)


def _known(studio: Studio, student_id: int, client_id: str) -> int | None:
    with studio.store.read() as db:
        return keeping.by_client_id(db, student_id, client_id)


def _check(tried: Tried) -> None:
    if tried.source == "self-judged" and tried.raw_events:
        raise CounterpaneError("A self-judged attempt has no key events: leave raw_events empty.")
    if tried.source != "self-judged" and tried.self_judgement is not None:
        raise CounterpaneError("An attempt that was heard is not judged by the player: leave self_judgement out.")


def _hear(studio: Studio, work: Work, past: History, tried: Tried, step: Step | None) -> AssessmentRow | None:
    if tried.source == "self-judged":
        return None
    try:
        return hear(
            work,
            tried.passage,
            tried.raw_events,
            step,
            decisions=decided(studio, past.student.person.id, work, past.language),
            level=past.level,
            language=past.language,
        )
    except CounterpaneError:
        raise
    except Exception:
        # A fault of ours must not cost a child the attempt: it is kept and can be heard later.
        logging.getLogger("counterpane").exception("An attempt on piece %s could not be heard", work.piece_id)
        return None


def _new(student_id: int, tried: Tried, step: Step | None, now: datetime) -> keeping.NewAttempt:
    # A device whose clock runs more than a day ahead would lift its attempts out of every plan and log.
    started_at = tried.started_at if tried.started_at <= now + timedelta(days=1) else now
    passage = tried.passage
    judged = None
    if tried.source == "self-judged":
        judged = step is not None and is_good(step, _self_judged(tried, started_at.date()))
    return keeping.NewAttempt(
        student_id=student_id,
        client_id=tried.client_id,
        piece_id=tried.piece_id,
        patch_id=tried.patch_id,
        step_id=tried.step_id,
        first_measure=passage.first_measure,
        last_measure=passage.last_measure,
        hands=passage.hands,
        tempo=passage.tempo,
        started_at=started_at,
        day=started_at.date().isoformat(),
        seconds=tried.seconds or _length_s(tried.raw_events),
        source=tried.source,
        self_judgement=tried.self_judgement,
        judged_good=judged,
        raw_events=tried.raw_events,
        app_version=tried.app_version,
    )


def _self_judged(tried: Tried, day: date) -> AttemptSummary:
    return AttemptSummary(
        str(tried.piece_id),
        tried.patch_id,
        tried.step_id,
        day,
        tried.seconds / 60,
        self_judged=tried.self_judgement,
    )


def _length_s(events: tuple[RawEvent, ...]) -> float:
    times = [event[0] for event in events]
    return round((max(times) - min(times)) / 1000, 1) if times else 0.0


def _report(heard: AssessmentRow | None, everything: bool) -> dict[str, Any] | None:
    if heard is None:
        return None
    return (
        heard.report if everything else {key: heard.report[key] for key in heard.report if key != "all_findings"}
    )


def _finding(one: dict[str, Any]) -> FindingCard:
    shown = {key: one[key] for key in one if key != "weight"}
    return FindingCard(**shown | {"notes": tuple(one["notes"])})
