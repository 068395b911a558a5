"""The subject as a person names it: a hand and the places of its first and last note, both included."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import cast

from counterpane.errors import AnalysisError
from counterpane.model.analysis import Subject
from counterpane.model.piece import Hand, Note, Piece

_FORM = "HAND:MEASURE:BEAT-MEASURE:BEAT, for example right:1:1.25-1:2.75"
_CHOICE = re.compile(r"(right|left):(\d+):([\d./]+)-(\d+):([\d./]+)")
# Beats are often written with two or three decimals; a third of a beat must still find its note.
_TOLERANCE = Fraction(1, 50)


@dataclass(frozen=True)
class SubjectChoice:
    """A subject marked by hand. Beats count from 1 in the unit of the meter's lower figure."""

    hand: Hand
    start_measure: int
    start_beat: Fraction
    end_measure: int
    end_beat: Fraction


def parse_subject_choice(text: str) -> SubjectChoice:
    """Read "right:1:1.25-1:2.75"; beats may be decimals or fractions such as 7/3.

    Raises `AnalysisError` when the text has another form.
    """
    found = _CHOICE.fullmatch(text.strip().lower())
    if not found:
        raise AnalysisError(f'the subject "{text}" cannot be read; write it as {_FORM}')
    hand, start_measure, start_beat, end_measure, end_beat = found.groups()
    return SubjectChoice(
        hand=cast("Hand", hand),
        start_measure=int(start_measure),
        start_beat=_beat(start_beat, text),
        end_measure=int(end_measure),
        end_beat=_beat(end_beat, text),
    )


def _beat(written: str, text: str) -> Fraction:
    try:
        beat = Fraction(written)
    except (ValueError, ZeroDivisionError):
        raise AnalysisError(
            f'the beat "{written}" in the subject "{text}" is not a number; write it as {_FORM}'
        ) from None
    if beat < 1:
        raise AnalysisError(f'the beat "{written}" in the subject "{text}" is below 1; beats count from 1')
    return beat


def chosen_subject(piece: Piece, choice: SubjectChoice) -> Subject:
    """Return the subject that `choice` marks: the notes of that hand's voice that has them at both places.

    Raises `AnalysisError` when a place is not in the piece or fewer than three notes lie between them.
    """
    start = _offset(piece, choice, choice.start_measure, choice.start_beat)
    end = _offset(piece, choice, choice.end_measure, choice.end_beat)
    if end <= start:
        raise AnalysisError("the subject ends before it starts; give the place of its first and of its last note")
    notes = _notes_between(piece, choice.hand, start - _TOLERANCE, end + _TOLERANCE)
    if len(notes) < 3:
        raise AnalysisError(
            f"the marked subject has too few notes to be recognised ({len(notes)}); mark three at least",
            measure=choice.start_measure,
            hand=choice.hand,
        )
    return Subject(
        hand=choice.hand,
        voice=notes[0].voice,
        start=piece.place(notes[0].onset),
        end=piece.place(notes[-1].onset),
        notes=tuple(note.id for note in notes),
        confidence=1.0,
        reason="marked by hand",
    )


def _offset(piece: Piece, choice: SubjectChoice, measure: int, beat: Fraction) -> Fraction:
    try:
        return piece.offset(measure, beat)
    except KeyError:
        raise AnalysisError(
            f"the piece has no measure {measure}; its measures are {piece.measures[0].number} to "
            f"{piece.measures[-1].number}",
            hand=choice.hand,
        ) from None


def _notes_between(piece: Piece, hand: Hand, first: Fraction, last: Fraction) -> list[Note]:
    """Return the notes of the voice meant: the highest with notes at both places, else that with most within."""
    lines: dict[int, dict[Fraction, Note]] = {}
    for note in piece.notes:
        if note.hand == hand and first <= note.onset <= last:
            lines.setdefault(note.voice, {})[note.onset] = note
    if not lines:
        return []

    def fit(voice: int) -> tuple[int, int, int]:
        onsets = lines[voice]
        ends = (min(onsets) - first <= 2 * _TOLERANCE) + (last - max(onsets) <= 2 * _TOLERANCE)
        return ends, len(onsets) if ends < 2 else 0, -voice

    return list(lines[max(lines, key=fit)].values())
