"""The only conversions: quarters, seconds and ticks; pitches, their names and frequencies."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane import units
from counterpane.model.piece import STEPS, Pitch

PITCHES = st.builds(Pitch, st.sampled_from(STEPS), st.integers(-3, 3), st.integers(-1, 9))


@given(PITCHES)
def test_a_pitch_name_reads_back_as_the_pitch(pitch: Pitch) -> None:
    """F#4, Bb3, C##5, and three signs where a score has them."""
    assert units.pitch_from_name(units.pitch_name(pitch)) == pitch


@pytest.mark.parametrize(
    ("name", "midi"),
    [("C4", 60), ("A4", 69), ("C-1", 0), ("G9", 127), ("B#3", 60), ("Cb4", 59), ("Fx4", 67), ("Bbb3", 57)],
)
def test_names_stand_for_midi_numbers(name: str, midi: int) -> None:
    """Scientific pitch notation: the octave changes at C, so B#3 is C4's key."""
    assert units.pitch_from_name(name).midi == midi


@pytest.mark.parametrize("name", ["", "H4", "c4", "C", "C#", "4C", "C####4", "Cb#4", "C4 "])
def test_what_is_no_pitch_name_is_refused(name: str) -> None:
    """With an example of what one looks like."""
    with pytest.raises(ValueError, match="F#4"):
        units.pitch_from_name(name)


@pytest.mark.parametrize(
    ("quarters", "tempo", "ms"), [(1, 60, 1000.0), (Fraction(1, 2), 120, 250.0), (4, 90, 2666.6667)]
)
def test_quarters_and_milliseconds(quarters: int | Fraction, tempo: float, ms: float) -> None:
    """At 60 quarters a minute a quarter lasts a second."""
    assert units.quarters_to_ms(quarters, tempo) == pytest.approx(ms)
    assert units.ms_to_quarters(ms, tempo) == pytest.approx(float(quarters))


def test_ticks_are_exact_fractions_of_a_quarter() -> None:
    """A third of 480 ticks is a third, not 0.333."""
    assert units.ticks_to_quarters(160, 480) == Fraction(1, 3)


def test_tempo_of_a_midi_file() -> None:
    """Microseconds a quarter note to quarters a minute."""
    assert units.microseconds_to_tempo(500_000) == 120.0
