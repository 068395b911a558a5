"""Struck keys are called as the key signature and the written note suggest (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from counterpane.listening.spelling import spell
from counterpane.model.piece import KeySignature
from counterpane.units import pitch_from_name
from tests.listening.scenes import written


@pytest.mark.parametrize(
    ("fifths", "note", "struck", "called"),
    [
        (0, "F#5", "F5", ("F", 0)),  # the sharp was forgotten
        (0, "F5", "F#5", ("F", 1)),  # one too many
        (-4, "Db5", "Eb5", ("E", -1)),  # the next note of the scale
        (-4, "D5", "Eb5", ("E", -1)),
        (2, "D5", "C#5", ("C", 1)),
        (2, "E5", "Eb5", ("E", -1)),  # not of the key: on the written step
        (0, "G#5", "C#5", ("C", 1)),  # neither: sharps where the signature has no flats
        (-1, "C5", "Ab5", ("A", -1)),
    ],
)
def test_a_struck_key_is_called_as_a_teacher_would(
    fifths: int, note: str, struck: str, called: tuple[str, int]
) -> None:
    """Naturals first, then the key, then the written step."""
    piece = replace(written(note, ""), key_signatures=(KeySignature(Fraction(0), fifths),))
    assert spell(piece, pitch_from_name(struck).midi, piece.notes[0]) == called


def test_the_signature_in_force_counts() -> None:
    """From C major to five flats after a measure: the same key is C sharp before and D flat after."""
    piece = written("G#4 . . . . . . . | G#4", "")
    piece = replace(piece, key_signatures=(KeySignature(Fraction(0), 0), KeySignature(Fraction(4), -5)))
    assert [spell(piece, 61, note) for note in piece.notes] == [("C", 1), ("D", -1)]
