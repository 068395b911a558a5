"""Small pieces and performances as text, with the true alignment known: what the measures are tried on.

A hand is a row of `NAME:QUARTERS` separated by spaces, `r:1` a rest, `C4+E4:1` a chord. All pieces here are in
4/4. A performance is a table of times, one for each written note, changed by the test as it likes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import count

import numpy as np

from counterpane.listening.events import performance_from_raw
from counterpane.listening.measures.heard import Heard, hear
from counterpane.model.analysis import Analysis, Direction, Sequence, Statement, Suggestion
from counterpane.model.assessment import Alignment, EventResult, EventStatus, Jump, NoteResult, NoteStatus
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.piece import Hand, Hands, KeySignature, Measure, Note, Piece
from counterpane.model.practice import Passage
from counterpane.units import pitch_from_name


def piece_of(right: str, left: str = "", tempo: float | None = 60.0) -> Piece:
    """Return a 4/4 piece; ids are r0, r1 … and l0, l1 … in written order."""
    notes = [*_row(right, "right"), *_row(left, "left")]
    length = max(note.end for note in notes)
    measures = tuple(
        Measure(f"m{index + 1}", index, index + 1, Fraction(4 * index), Fraction(4), 4, 4)
        for index in range(int(-(-length // 4)))
    )
    ordered = tuple(sorted(notes, key=lambda n: (n.onset, n.hand != "right", n.midi)))
    return Piece("Test", "", "", measures, (KeySignature(Fraction(0), 0),), ordered, tempo=tempo)


def _row(text: str, hand: Hand) -> list[Note]:
    notes, onset, numbers = [], Fraction(0), count()
    for word in text.split():
        names, quarters = word.split(":")
        for name in names.split("+") if names != "r" else ():
            id_ = f"{hand[0]}{next(numbers)}"
            pitch = pitch_from_name(name)
            notes.append(
                Note(id_, hand, 1 if hand == "right" else 2, onset, Fraction(quarters), pitch, heads=(id_,))
            )
        onset += Fraction(quarters)
    return notes


@dataclass
class Key:
    """One key to be struck: for which written note (None: added), when, how long, how, in which pass."""

    note: str | None
    onset_ms: float
    length_ms: float
    midi: int
    velocity: int = 64
    run: int = 0
    status: EventStatus = "as_written"


def play(
    piece: Piece,
    tempo: float = 60.0,
    *,
    late_ms: Callable[[Note], float] = lambda _: 0.0,
    velocity: Callable[[Note], int] = lambda note: 60 + note.midi % 2,
    length: Callable[[Note], float] = lambda _: 0.9,
    start_ms: float = 1000.0,
    run: int = 0,
) -> list[Key]:
    """Play every note at `tempo`, each late by `late_ms(note)` and held for `length(note)` of its value."""
    quarter = 60_000 / tempo
    return [
        Key(
            note.id,
            start_ms + float(note.onset) * quarter + late_ms(note),
            float(note.duration) * quarter * length(note),
            note.midi,
            velocity(note),
            run,
        )
        for note in piece.notes
    ]


def heard_from(
    piece: Piece,
    keys: list[Key],
    *,
    hands: Hands = "both",
    tempo: float = 60.0,
    jumps: tuple[Jump, ...] = (),
) -> Heard:
    """Return what the measures get, from keys whose written note is known."""
    ordered = sorted(keys, key=lambda key: (key.onset_ms, key.midi))
    played = tuple(
        PlayedNote(index, key.onset_ms, key.onset_ms + key.length_ms, key.midi, key.velocity)
        for index, key in enumerate(ordered)
    )
    events = tuple(EventResult(i, key.status, key.note, key.run) for i, key in enumerate(ordered))
    last = {event.note: event for event in events}
    reached = max((piece.by_id[key.note].onset for key in ordered if key.note), default=Fraction(-1))
    results = []
    for note in piece.notes:
        if hands not in ("both", note.hand):
            continue
        event = last.get(note.id)
        if event is None:
            results.append(NoteResult(note.id, "left_out" if note.onset < reached else "not_reached", None))
        else:
            status: NoteStatus = "replaced" if event.status == "replacement" else "played"
            results.append(NoteResult(note.id, status, event.event))
    passage = Passage(1, len(piece.measures), hands, tempo)
    return hear(piece, passage, Performance(played), Alignment(tuple(results), events, jumps))


def jitter(sd_ms: float, seed: int) -> Callable[[Note], float]:
    """Return independent normal displacements of every onset, the same for the same seed and order of calls."""
    random = np.random.default_rng(seed)
    return lambda _: float(random.normal(0, sd_ms))


def analysis_of(
    *,
    statements: tuple[Statement, ...] = (),
    sequences: tuple[Sequence, ...] = (),
    suggestions: tuple[Suggestion, ...] = (),
) -> Analysis:
    """Return an analysis with nothing in it but what is given."""
    return Analysis(
        key="C major",
        subject=None,
        no_subject_reason="",
        alternatives=(),
        statements=statements,
        countersubject=None,
        episodes=(),
        pedal_points=(),
        exchanges=(),
        sequences=sequences,
        keys=(),
        cadences=(),
        sections=(),
        count_table=(),
        comparisons=(),
        peak=None,
        section_peaks=(),
        suggestions=suggestions,
        puzzles=(),
    )


def statement_of(piece: Piece, *ids: str) -> Statement:
    """Return an upright, complete statement of these notes."""
    first, last = piece.by_id[ids[0]], piece.by_id[ids[-1]]
    return Statement(
        f"s-{ids[0]}",
        first.hand,
        first.voice,
        piece.place(first.onset),
        piece.place(last.onset),
        "upright",
        "complete",
        "exact",
        ids,
        1.0,
        "",
    )


def sequence_of(piece: Piece, *ids: str, direction: Direction = "rising") -> Sequence:
    """Return a sequence of two copies over these notes."""
    first, last = piece.by_id[ids[0]], piece.by_id[ids[-1]]
    half = len(ids) // 2
    return Sequence(
        f"q-{ids[0]}",
        (first.hand,),
        piece.place(first.onset),
        piece.place(last.onset),
        2,
        direction,
        1,
        ids,
        (ids[:half], ids[half:]),
        (),
        True,
        1.0,
        "",
    )


def performance_of(keys: list[Key]) -> Performance:
    """Return the keys as the instrument would send them, for the real alignment to find its way through."""
    raw = [(key.onset_ms, 0x90, key.midi, key.velocity) for key in keys]
    raw += [(key.onset_ms + key.length_ms, 0x80, key.midi, 0) for key in keys]
    return performance_from_raw(sorted(raw, key=lambda event: event[0]))
