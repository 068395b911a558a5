"""The student at the keyboard: a route through the passage becomes strokes in time, each with its truth."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

from counterpane.model.piece import Hand, Note, Piece
from counterpane.model.practice import Passage
from demo.simulation import keys
from demo.simulation.expression import Expression
from demo.simulation.faults import Faults
from demo.simulation.route import Pass, Route
from demo.simulation.session import Fault, RawEvent, Session, TrueEvent, TrueJump, TrueStatus

_NOTE_ON, _NOTE_OFF = 0x90, 0x80
_LEAD_IN_MS = 500.0


@dataclass
class _Stroke:
    """A key on its way to the keyboard; what it truly is stands beside it."""

    time_ms: float
    length_ms: float
    key: int
    velocity: int
    status: TrueStatus
    note: Note | None
    run: int
    ornament: bool = False
    others: tuple[str, ...] = ()


@dataclass
class _Notebook:
    """What has been struck and what went wrong, with strokes in place of event numbers until all are known."""

    strokes: list[_Stroke] = field(default_factory=list)
    faults: list[tuple[str, str | None, _Stroke | None, float]] = field(default_factory=list)
    jumps: list[tuple[int, float, float]] = field(default_factory=list)


def simulate(piece: Piece, passage: Passage, seed: int, faults: Faults) -> Session:
    """Play a passage of a piece as a student with these faults would; the seed decides where they fall."""
    return _Student(piece, passage, faults, Random(seed)).play()


class _Student:
    def __init__(self, piece: Piece, passage: Passage, faults: Faults, chance: Random) -> None:
        self.piece = piece
        self.faults = faults
        self.chance = chance
        self.notes = self._choose_notes(passage)
        by_onset: dict[float, list[Note]] = defaultdict(list)
        for note in self.notes:
            by_onset[float(note.onset)].append(note)
        self.onsets = sorted(by_onset)
        self.chords = [by_onset[onset] for onset in self.onsets]
        self.graces: dict[str, list[int]] = defaultdict(list)
        for grace in piece.graces:
            self.graces[grace.principal].append(grace.pitch.midi)
        self.quarter_ms = 60_000.0 / (passage.tempo * faults.tempo_share)
        self.expression = Expression(piece, faults, chance)
        self.now = _LEAD_IN_MS
        self.book = _Notebook()
        self.silent: dict[Hand, int] = {"right": 0, "left": 0}
        self.measure_seen = self.piece.measure_at(self.notes[0].onset).index
        self.resting: dict[Hand, int] = {"right": -1, "left": -1}
        self.lagging: dict[Hand, tuple[int, float]] = {"right": (-1, 0.0), "left": (-1, 0.0)}

    def play(self) -> Session:
        """Play every pass of the route."""
        measures = [self.piece.measure_at(chord[0].onset).index for chord in self.chords]
        on_beat = [self.piece.place(chord[0].onset).beat.denominator == 1 for chord in self.chords]
        slips = [self._happens(min(1.0, self._slip_rate() * len(chord))) for chord in self.chords]
        route = Route(measures, on_beat, self.faults, self.chance).plan(slips)
        for run, stretch in enumerate(route):
            if run:
                self._go(route[run - 1], stretch, run)
            self._play_pass(stretch, run, slips, measures)
        if route[-1].last < len(self.onsets) - 1:
            self.book.faults.append(("early stop", self.chords[route[-1].last][0].id, None, 0.0))
        return _finish(self.book)

    def _choose_notes(self, passage: Passage) -> list[Note]:
        hands = passage.hands
        if hands == "both" and self._happens(self.faults.one_hand):
            hands = self.chance.choice(("right", "left"))
        chosen = [
            note
            for note in self.piece.notes
            if passage.first_measure <= self.piece.measure_at(note.onset).number <= passage.last_measure
            and hands in ("both", note.hand)
        ]
        return chosen or list(self.piece.notes)

    def _slip_rate(self) -> float:
        return self.faults.wrong + self.faults.corrected + self.faults.missed

    def _go(self, before: Pass, after: Pass, run: int) -> None:
        """Stop, breathe, and put the hands somewhere else."""
        if before.last >= 0 and self._happens(0.85):
            self.now += self._pause()
        else:
            self.now += self.chance.uniform(0.0, 0.4) * self.quarter_ms
        self.silent = {"right": 0, "left": 0}
        self.book.jumps.append((run, self.onsets[before.last], self.onsets[after.first]))
        self.book.faults.append((after.fault, self.chords[after.first][0].id, None, 0.0))

    def _play_pass(self, stretch: Pass, run: int, slips: Sequence[bool], measures: Sequence[int]) -> None:
        for index in range(stretch.first, stretch.last + 1):
            if index > stretch.first and self._happens(self.faults.hesitation):
                pause = self._pause()
                self.now += pause
                self.book.faults.append(("hesitation", self.chords[index][0].id, None, pause))
            self._decide_hands(measures[index])
            abandoned = stretch.abandoned_from is not None and index >= stretch.abandoned_from
            self._play_onset(index, run, abandoned, slips[index])
            self.now += self._until_next(index) * self._local_quarter(index)
            if self._happens(self.faults.added):
                self._add(index, run)

    def _until_next(self, index: int) -> float:
        """Return the quarters from one onset to the next."""
        following = self.onsets[index + 1] if index + 1 < len(self.onsets) else float(self.piece.end)
        return following - self.onsets[index]

    def _decide_hands(self, measure: int) -> None:
        """Now and then a hand falls silent for some measures, or lags behind the other for one."""
        begins, self.measure_seen = measure != self.measure_seen, measure
        if not begins or measure <= max(self.resting.values()):
            return
        hand: Hand = self.chance.choice(("right", "left"))
        if self._happens(self.faults.hand_drops_out):
            self.resting[hand] = measure + self.chance.randint(0, 1)
        if self._happens(self.faults.hand_lags):
            self.lagging[hand] = (measure, self.chance.uniform(0.25, 0.5))

    def _play_onset(self, index: int, run: int, abandoned: bool, slip: bool) -> None:
        struck: dict[int, _Stroke] = {}
        chord = self.chords[index]
        spread, roll = 0.0, self.expression.roll_ms(chord, self._until_next(index) * self.quarter_ms)
        for note in sorted(chord, key=lambda note: note.midi) if roll else chord:
            if note.midi in struck:
                struck[note.midi].others += (note.id,)
                continue
            spread += roll or abs(self.chance.gauss(0.0, self.faults.chord_spread_ms))
            lead = self.expression.lead_ms(note, chord)
            stroke = self._play_note(note, spread - lead, run, abandoned, slip)
            if stroke is not None:
                struck[note.midi] = stroke

    def _play_note(self, note: Note, spread: float, run: int, abandoned: bool, slip: bool) -> _Stroke | None:
        """Strike a note, or fail to; return the stroke of the right key."""
        measure = self.piece.measure_at(note.onset).index
        if self.resting[note.hand] >= measure or self._is_missed(note):
            self.book.faults.append(("missed", note.id, None, 0.0))
            return None
        time = self.now + spread + self._deviation(note, measure)
        status: TrueStatus = "abandoned" if abandoned else "as_written"
        rate = self._slip_rate()
        if slip and rate and self._happens(1.0 / len(self.chords[self.onsets.index(float(note.onset))])):
            kind = self.chance.random() * rate
            if kind < self.faults.wrong:
                self._strike_wrong(note, time, run, "wrong")
                return None
            if kind < self.faults.wrong + self.faults.corrected:
                time = self._correct(note, time, run)
            else:
                self.book.faults.append(("missed", note.id, None, 0.0))
                return None
        return self._strike_right(note, time, run, status)

    def _is_missed(self, note: Note) -> bool:
        if self.silent[note.hand] == 0 and self._happens(self.faults.missed_run):
            self.silent[note.hand] = self.chance.randint(2, 6)
        if self.silent[note.hand] > 0:
            self.silent[note.hand] -= 1
            return True
        return False

    def _deviation(self, note: Note, measure: int) -> float:
        """Return how far from the beat a note falls, in milliseconds."""
        away = self.chance.gauss(0.0, self.faults.jitter_ms)
        if note.hand == "left":
            away += self.chance.gauss(self.faults.asynchrony_ms, self.faults.asynchrony_sd_ms)
        lag_measure, lag = self.lagging[note.hand]
        return away + (lag * self.quarter_ms if lag_measure == measure else 0.0)

    def _strike_wrong(self, note: Note, time: float, run: int, kind: str) -> None:
        key = keys.wrong_key(note.midi, keys.scale_at(self.piece, note), self.faults.any_key, self.chance)
        stroke = self._strike(time, key, self._length(note), "replacement", note, run)
        self.book.faults.append((kind, note.id, stroke, float(key - note.midi)))

    def _correct(self, note: Note, time: float, run: int) -> float:
        """Strike a wrong key first; return when the right one follows. The rest of the music waits."""
        self._strike_wrong(note, time, run, "corrected")
        delay = self.chance.uniform(0.5, 1.6) * max(250.0, min(900.0, self.quarter_ms * 0.6))
        self.now += delay
        return time + delay

    def _strike_right(self, note: Note, time: float, run: int, status: TrueStatus) -> _Stroke:
        sequence: tuple[int, ...] = (note.midi,)
        if (note.ornaments or note.id in self.graces) and self._happens(self.faults.ornaments):
            scale = keys.scale_at(self.piece, note)
            sequence = keys.ornament_keys(note, tuple(self.graces[note.id]), scale, self.chance)
        pace = min(110.0, 0.8 * float(note.duration) * self.quarter_ms / len(sequence))
        main = sequence.index(note.midi)
        right: _Stroke | None = None
        for place, key in enumerate(sequence):
            length = self._length(note) if place == len(sequence) - 1 else pace
            stroke = self._strike(time + place * pace, key, length, status, note, run)
            stroke.ornament = place != main
            right = stroke if place == main else right
        assert right is not None
        if self._happens(self.faults.brushed):
            self._brush(note, time, run)
        return right

    def _brush(self, note: Note, time: float, run: int) -> None:
        key = note.midi + self.chance.choice((-2, -1, 1, 2))
        stroke = self._strike(time + self.chance.uniform(-15.0, 25.0), key, 60.0, "added", None, run)
        self.book.faults.append(("brushed", note.id, stroke, float(key - note.midi)))

    def _add(self, index: int, run: int) -> None:
        """Strike a key that is not written, somewhere between this onset and the next."""
        near = self.chance.choice(self.chords[index])
        key = keys.wrong_key(
            near.midi, keys.scale_at(self.piece, near), max(0.4, self.faults.any_key), self.chance
        )
        time = self.now - self.chance.uniform(0.2, 0.8) * float(near.duration) * self.quarter_ms
        stroke = self._strike(time, key, 120.0, "added", None, run)
        self.book.faults.append(("added", near.id, stroke, float(key - near.midi)))

    def _strike(
        self, time: float, key: int, length: float, status: TrueStatus, note: Note | None, run: int
    ) -> _Stroke:
        velocity = round(self.chance.gauss(self.faults.velocity, self.faults.velocity_sd))
        stroke = _Stroke(max(0.0, time), max(20.0, length), key, min(127, max(1, velocity)), status, note, run)
        self.book.strokes.append(stroke)
        return stroke

    def _length(self, note: Note) -> float:
        share = max(0.1, self.chance.gauss(self.faults.legato, self.faults.legato_sd))
        return float(note.duration) * self.quarter_ms * share

    def _local_quarter(self, index: int) -> float:
        steady = self.quarter_ms / (1.0 + self.faults.drift * index / max(1, len(self.onsets) - 1))
        return steady * self.expression.rubato(self.chords[index][0])

    def _pause(self) -> float:
        return self.faults.pause_ms * math.exp(self.chance.gauss(0.0, 0.5))

    def _happens(self, rate: float) -> bool:
        return self.chance.random() < rate


def _finish(book: _Notebook) -> Session:
    """Return the session with the strokes numbered in time order and turned into bytes."""
    strokes = sorted(book.strokes, key=lambda stroke: (stroke.time_ms, stroke.key))
    number = {id(stroke): event for event, stroke in enumerate(strokes)}
    first_of_run: dict[int, int] = {}
    for event, stroke in enumerate(strokes):
        first_of_run.setdefault(stroke.run, event)
    return Session(
        raw=_raw_events(strokes),
        events=tuple(
            TrueEvent(
                event,
                stroke.status,
                stroke.note.id if stroke.note else None,
                stroke.run,
                stroke.ornament,
                stroke.others,
            )
            for event, stroke in enumerate(strokes)
        ),
        faults=tuple(
            Fault(kind, note, None if stroke is None else number[id(stroke)], size)
            for kind, note, stroke, size in book.faults
        ),
        jumps=tuple(
            TrueJump(first_of_run[run], origin, target)
            for run, origin, target in book.jumps
            if run in first_of_run
        ),
    )


def _raw_events(strokes: Sequence[_Stroke]) -> tuple[RawEvent, ...]:
    """Note-ons and note-offs in time order; a key that is struck again is let go first."""
    events: list[RawEvent] = []
    next_on: dict[int, float] = {}
    for stroke in reversed(strokes):
        release = min(stroke.time_ms + stroke.length_ms, next_on.get(stroke.key, math.inf))
        events.append((stroke.time_ms, _NOTE_ON, stroke.key, stroke.velocity))
        events.append((release, _NOTE_OFF, stroke.key, 0))
        next_on[stroke.key] = stroke.time_ms
    return tuple(sorted(events, key=lambda event: (event[0], event[1], event[2])))
