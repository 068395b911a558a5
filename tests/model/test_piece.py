"""Places, measures and pitches of a written piece."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.model.piece import STEPS, Measure, Note, Piece, Pitch, Place


def _measure(
    index: int,
    number: int,
    onset: Fraction,
    length: Fraction,
    *,
    beats: int,
    unit: int,
    padding: Fraction = Fraction(0),
) -> Measure:
    return Measure(f"m{index}", index, number, onset, length, beats, unit, padding)


UPBEAT = _measure(0, 0, Fraction(0), Fraction(1), beats=4, unit=4, padding=Fraction(3))
FULL = _measure(1, 1, Fraction(1), Fraction(4), beats=4, unit=4)
COMPOUND = _measure(2, 2, Fraction(5), Fraction(3), beats=6, unit=8)
PIECE = Piece(
    "A study",
    "nobody",
    "0",
    (UPBEAT, FULL, COMPOUND),
    (),
    (Note("n1", "right", 1, Fraction(0), Fraction(1), Pitch("C", 0, 4)),),
)


@pytest.mark.parametrize(
    ("offset", "place"),
    [
        (Fraction(0), Place(0, Fraction(4), Fraction(0))),  # an upbeat quarter in 4/4 is beat 4
        (Fraction(1), Place(1, Fraction(1), Fraction(1))),
        (Fraction(5, 4), Place(1, Fraction(5, 4), Fraction(5, 4))),
        (Fraction(13, 2), Place(2, Fraction(4), Fraction(13, 2))),  # 6/8 is counted in eighths
    ],
)
def test_a_place_is_counted_in_the_meters_lower_unit(offset: Fraction, place: Place) -> None:
    """Beat 1 is the barline; the unit is the lower figure of the meter; a pickup counts from its end."""
    assert PIECE.place(offset) == place
    assert PIECE.offset(place.measure, place.beat) == offset


@given(st.fractions(min_value=0, max_value=8, max_denominator=48))
def test_a_place_leads_back_to_its_offset(offset: Fraction) -> None:
    """Place and offset are two names for one point."""
    place = PIECE.place(offset)
    assert PIECE.offset(place.measure, place.beat) == offset


def test_a_measure_that_is_not_there_is_an_error() -> None:
    """Asking for measure 9 of a piece of three measures names the measure."""
    with pytest.raises(KeyError, match="9"):
        PIECE.offset(9, Fraction(1))


def test_the_meter_is_that_of_the_first_full_measure() -> None:
    """A pickup does not name the meter."""
    assert PIECE.meter == "4/4"
    assert replace(PIECE, measures=(COMPOUND,)).meter == "6/8"


@pytest.mark.parametrize(
    ("pitch", "midi"),
    [(Pitch("A", 0, 4), 69), (Pitch("C", 0, 4), 60), (Pitch("B", 1, 3), 60), (Pitch("C", -1, 5), 71)],
)
def test_pitches_cross_the_octave_at_c(pitch: Pitch, midi: int) -> None:
    """B sharp 3 sounds as C4, C flat 5 as B4; 69 is A4 (MIDI 1.0; note 60 as C4 is common practice, no source)."""
    assert pitch.midi == midi


@given(st.sampled_from(STEPS), st.integers(-2, 2), st.integers(0, 8))
def test_steps_do_not_care_about_accidentals(step: str, alter: int, octave: int) -> None:
    """C to C sharp is no step; an octave is seven."""
    pitch = Pitch(step, alter, octave)
    assert pitch.diatonic == Pitch(step, 0, octave).diatonic
    assert Pitch(step, alter, octave + 1).diatonic - pitch.diatonic == 7
