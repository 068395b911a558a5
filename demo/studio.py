"""A studio with three invented students and some weeks of practice, so that every screen has something to show.

Nothing is made up beside the playing: each past day is planned, played by the simulated student, heard and logged
by the same code that serves real students. The same day gives the same studio.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random
from uuid import NAMESPACE_URL, uuid5

from counterpane.model.piece import Piece
from counterpane.model.practice import Passage
from counterpane.studio.attempts import Tried, record_attempt
from counterpane.studio.drills import drill
from counterpane.studio.house import Studio, create_studio
from counterpane.studio.links import WantedLink, create_link
from counterpane.studio.pages.practice import AttemptPage, TodayItem
from counterpane.studio.people import Assigned, NewStudent, add_student, assign
from counterpane.studio.pieces import import_piece
from counterpane.studio.puzzles import GivenAnswer, record_answer
from counterpane.studio.today import today
from demo.people import DEMO_STUDENTS, DemoStudent
from demo.simulation import Faults, Session, simulate
from demo.simulation.session import RawEvent

PIECES = Path(__file__).parent / "pieces"
PASSPHRASE = "a quilt for the demo"  # noqa: S105 - told to everyone who starts the demo
TEACHER = "Teacher"
PIN = "2468"
WEEKS = 3
_TRIES_A_DAY = 40
_STUMBLES = 0.4
_SECONDS_BETWEEN_TRIES = 20


def seed(
    path: Path, now: datetime, said: Callable[[str], None] = lambda _: None, *, weeks: int = WEEKS
) -> dict[str, str]:
    """Make the demo studio at `path`, its past `weeks` played up to yesterday.

    Returns where people come in, as addresses without scheme and host: "Wren (student)" and so on; the teacher
    comes in with `PASSPHRASE`, everyone else's second device with `PIN`.
    """
    start = now - timedelta(weeks=weeks)
    studio = create_studio(path, "The demo studio", PASSPHRASE, start)
    ways: dict[str, str] = {}
    try:
        files = sorted(PIECES.glob("*.musicxml"))
        pieces = {file.stem: import_piece(studio, file.read_bytes(), file.name, start).id for file in files}
        for who in DEMO_STUDENTS:
            said(f"{who.nickname} practises for {weeks} weeks …")
            term = _Term(studio, who, pieces, start.date(), now)
            term.play()
            ways |= _ways(studio, who, term.student, now)
    finally:
        studio.close()
    return ways | {TEACHER: "/sign-in"}


def _ways(studio: Studio, who: DemoStudent, student: int, now: datetime) -> dict[str, str]:
    own = create_link(studio, None, WantedLink(student, "student", pin=PIN), "", now)
    parent = WantedLink(student, "parent", parent_nickname=who.parent, pin=PIN)
    return {f"{who.nickname} (student)": own.url, who.parent: create_link(studio, None, parent, "", now).url}


def _new(who: DemoStudent, start: date) -> NewStudent:
    """Return the student as taken in, with a lesson every week from the first lesson day on."""
    lesson = start + timedelta(days=(who.lesson_day - start.weekday()) % 7)
    return NewStudent(who.nickname, who.level, who.language, who.minutes, who.rest_days, lesson, note=who.note)


class _Term:
    """One student's weeks: planned day by day, played and recorded."""

    def __init__(
        self, studio: Studio, who: DemoStudent, pieces: dict[str, int], start: date, now: datetime
    ) -> None:
        self.studio, self.who, self.start, self.now = studio, who, start, now
        self.names = {number: name for name, number in pieces.items()}
        self.student = add_student(studio, None, _new(who, start), now).id
        wanted = tuple(Assigned(pieces[name], (), who.goal_tempo) for name in who.pieces)
        assign(studio, None, self.student, wanted, now)
        self.chance = Random(who.nickname)

    def play(self) -> None:
        days = (self.now.date() - self.start).days
        for number in range(days):
            day = self.start + timedelta(days=number)
            if day.weekday() not in self.who.rest_days and self.chance.random() < self.who.diligence:
                self._practise(day, number / days)

    def _practise(self, day: date, progress: float) -> None:
        clock = datetime.combine(day, time(16, self.chance.randrange(60)), UTC)
        tries = 0
        for item in today(self.studio, self.student, day).items:
            if item.kind == "puzzle":
                self._solve(item, clock)
                clock += timedelta(minutes=item.minutes)
                continue
            until = clock + timedelta(minutes=item.minutes)
            step: str | None = item.step_id
            while step is not None and clock < until and tries < _TRIES_A_DAY:
                page, seconds = self._try(item, step, clock, progress)
                clock += timedelta(seconds=seconds + _SECONDS_BETWEEN_TRIES)
                step = page.next.step_id if page.next.patch_id == item.patch_id else None
                tries += 1

    def _solve(self, item: TodayItem, clock: datetime) -> None:
        work = self.studio.library.work(item.piece_id)
        puzzles = self.studio.library.puzzles(work, self.who.language)
        puzzle = next(one for one in puzzles if one.id == item.puzzle_id)
        answer = tuple(group[0] for group in puzzle.groups) if puzzle.groups else puzzle.answer
        if self.chance.random() < 0.25 and isinstance(answer, int):
            answer += 1
        client_id = str(uuid5(NAMESPACE_URL, f"{self.student}-{item.piece_id}-{puzzle.id}"))
        given = GivenAnswer(client_id, item.piece_id, puzzle.id, answer, self.chance.randint(8000, 60_000), clock)
        record_answer(self.studio, self.student, given)

    def _try(self, item: TodayItem, step_id: str, clock: datetime, progress: float) -> tuple[AttemptPage, float]:
        page = drill(self.studio, self.student, item.piece_id, item.patch_id, clock.date())
        step = next(one for one in page.ladder.steps if one.id == step_id)
        passage = Passage(
            item.first_measure, item.last_measure, step.hands, self.who.goal_tempo * step.tempo_share
        )
        tried = Tried(
            client_id=str(uuid5(NAMESPACE_URL, f"{self.student}-{clock.isoformat()}")),
            piece_id=item.piece_id,
            patch_id=item.patch_id,
            step_id=step_id,
            passage=passage,
            started_at=clock,
            seconds=0.0,
            source="self-judged",
        )
        if step.kind != "play" or self.chance.random() < self.who.self_judges:
            measures = item.last_measure - item.first_measure + 1
            tried = replace(tried, seconds=measures * 4 * 60 / passage.tempo, self_judgement=(3, 2, 3))
        else:
            raw = self._playing(item, passage, progress)
            tried = replace(tried, seconds=raw[-1][0] / 1000, source="web-midi", raw_events=raw)
        return record_attempt(self.studio, self.student, tried, clock), tried.seconds

    def _playing(self, item: TodayItem, passage: Passage, progress: float) -> tuple[RawEvent, ...]:
        piece = self.studio.library.work(item.piece_id).piece
        faults = between(self.who.first, self.who.last, progress)
        session = simulate(piece, passage, self.chance.randrange(2**31), faults)
        while not session.raw:  # the only note of a passage was left out: no attempt at all
            session = simulate(piece, passage, self.chance.randrange(2**31), faults)
        measure, hand = self.who.trouble[self.names[item.piece_id]]
        if self.chance.random() < _STUMBLES:
            return stumble(piece, session, measure, hand)
        return session.raw


def between(first: Faults, last: Faults, progress: float) -> Faults:
    """Return faults a share of the way from `first` to `last`."""
    mixed = {
        field.name: getattr(first, field.name)
        + progress * (getattr(last, field.name) - getattr(first, field.name))
        for field in fields(Faults)
    }
    return Faults(**mixed)


def stumble(piece: Piece, session: Session, measure: int, hand: str) -> tuple[RawEvent, ...]:
    """Return the session with the second note of a measure in one hand struck a semitone too high."""
    there = [
        note.id for note in piece.notes if note.hand == hand and piece.measure_at(note.onset).number == measure
    ]
    wrong = {event.event for event in session.events if event.note == there[1]}
    raw: list[RawEvent] = []
    number = -1
    moved: set[int] = set()
    for time_ms, status, key, velocity in session.raw:
        strikes = status & 0xF0 == 0x90 and velocity > 0
        number += strikes
        if strikes and number in wrong:
            moved.add(key)
        raw.append((time_ms, status, key + 1 if key in moved else key, velocity))
        if not strikes:
            moved.discard(key)
    return tuple(raw)
