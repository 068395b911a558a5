"""Small pieces written as text, and analyses by hand, for tests about practice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import TypedDict, Unpack

from counterpane.model.analysis import Analysis, Section, Statement
from counterpane.model.piece import Hand, KeySignature, Measure, Note, Piece
from counterpane.model.practice import Assignment, AttemptSummary, Level
from counterpane.practice.patches import cut_patches
from counterpane.units import pitch_from_name

QUARTER = Fraction(1)
SIXTEENTH = Fraction(1, 4)


def line(
    names: str, hand: Hand = "right", value: Fraction = SIXTEENTH, start: Fraction = Fraction(0)
) -> list[Note]:
    """Return notes of one value in a row; "-" is a rest."""
    voice = 1 if hand == "right" else 2
    return [
        Note(f"{hand[0]}{index}", hand, voice, start + index * value, value, pitch_from_name(name))
        for index, name in enumerate(names.split())
        if name != "-"
    ]


def piece(notes: Iterable[Note], measures: int, *, beats: int = 4, fifths: int = 0, tempo: float = 72) -> Piece:
    """Return a piece of `measures` measures of `beats` quarters."""
    length = Fraction(beats)
    return Piece(
        title="Study",
        composer="",
        source_hash="study",
        measures=tuple(Measure(f"m{i}", i, i + 1, i * length, length, beats, 4) for i in range(measures)),
        key_signatures=(KeySignature(Fraction(0), fifths),),
        notes=tuple(sorted(notes, key=lambda note: (note.onset, note.hand != "right", note.midi))),
        tempo=tempo,
    )


def running_piece(measures: int) -> Piece:
    """Return sixteenths in the right hand over quarters in the left, all in one position."""
    right = line("C5 D5 E5 F5 G5 F5 E5 D5 " * (2 * measures))
    left = line("C3 E3 G3 E3 " * measures, "left", QUARTER)
    return piece([*right, *left], measures)


def analysis(
    of: Piece,
    sections: Iterable[tuple[str, int, int]] = (),
    statements: Iterable[tuple[str, str, str]] = (),
) -> Analysis:
    """Return an analysis by hand: sections as (label, first, last measure), statements as (hand, start, end).

    Starts and ends are written "measure:beat".
    """
    found = tuple(
        statement(of, f"s{number}", hand, start, end) for number, (hand, start, end) in enumerate(statements, 1)
    )
    return Analysis(
        key="C major",
        subject=None,
        no_subject_reason="",
        alternatives=(),
        statements=found,
        countersubject=None,
        episodes=(),
        pedal_points=(),
        exchanges=(),
        sequences=(),
        keys=(),
        cadences=(),
        sections=tuple(section(of, *each, found) for each in sections),
        count_table=(),
        comparisons=(),
        peak=None,
        section_peaks=(),
        suggestions=(),
        puzzles=(),
    )


def statement(of: Piece, name: str, hand: str, start: str, end: str) -> Statement:
    """Return a statement between two places of its hand."""
    first, last = (of.offset(int(m), Fraction(b)) for m, b in (place.split(":") for place in (start, end)))
    side: Hand = "right" if hand == "right" else "left"
    notes = [note for note in of.notes if note.hand == hand and first <= note.onset <= last]
    return Statement(
        id=name,
        hand=side,
        voice=1 if hand == "right" else 2,
        start=of.place(first),
        end=of.place(last),
        form="upright",
        extent="complete",
        likeness="exact",
        notes=tuple(note.id for note in notes),
        confidence=1.0,
        reason="",
    )


def section(of: Piece, label: str, first: int, last: int, statements: Iterable[Statement]) -> Section:
    """Return a section of whole measures with the statements that begin in it."""
    start, end = of.offset(first, Fraction(1)), of.offset(last, Fraction(1)) + of.measures[0].length
    inside = [note.onset for note in of.notes if start <= note.onset < end]
    return Section(
        label=label,
        kind=label[0],
        time=int(label[1:]),
        start=of.place(inside[0]),
        end=of.place(inside[-1]),
        first_measure=first,
        last_measure=last,
        key="C major",
        statements=tuple(s.id for s in statements if start <= s.start.offset < end),
        sequences=(),
        confidence=1.0,
        reason="",
    )


def assignment(level: Level = "intermediate", measures: int = 16, *, name: str = "study") -> Assignment:
    """Return an assignment of a running piece in sections of four measures."""
    of = running_piece(measures)
    parts = [(f"{chr(65 + i)}1", 4 * i + 1, min(4 * i + 4, measures)) for i in range(-(-measures // 4))]
    return Assignment(name, "Study", cut_patches(of, analysis(of, parts), level, 72), level, 72)


class Heard(TypedDict, total=False):
    """What was heard in an attempt: fields of an `AttemptSummary`."""

    accuracy: float | None
    evenness_ms: float | None
    togetherness_ms: float | None
    hesitations: int | None
    complete: bool
    self_judged: tuple[int, int, int] | None


def attempt(
    patch: str = "p1",
    step: str = "in-tempo",
    *,
    piece: str = "study",
    day: date = date(2026, 1, 5),
    minutes: float = 1.0,
    **heard: Unpack[Heard],
) -> AttemptSummary:
    """Return an attempt that meets every goal at every level, but for what was `heard`."""
    return replace(AttemptSummary(piece, patch, step, day, minutes, 1.0, 10.0, 10.0, 0), **heard)
