"""Pitch spelling (ps13s1) and key finding, on scales, real chorales and every MIDI number."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.score.midi.key import estimate_key
from counterpane.score.midi.spelling import spell
from counterpane.units import pitch_name

MAJOR = (0, 2, 4, 5, 7, 9, 11, 12)


@pytest.mark.parametrize("fifths", range(-6, 7))
def test_major_scales_are_spelled_with_seven_different_steps(fifths: int) -> None:
    """Going up and down any major scale in its key signature uses each letter once."""
    tonic = 60 + (7 * fifths) % 12
    line = [tonic + step for step in MAJOR] + [tonic + step for step in reversed(MAJOR)]
    pitches = spell(line, fifths)
    assert len({pitch.step for pitch in pitches}) == 7
    assert len({(pitch.step, pitch.alter) for pitch in pitches}) == 7


@pytest.mark.parametrize("fifths", range(-5, 7))
def test_the_key_of_a_scale_that_leans_on_its_triad_is_found(fifths: int) -> None:
    """Tonic, third and fifth sound longest (Krumhansl's profiles)."""
    tonic = 60 + (7 * fifths) % 12
    weights = {0: 4.0, 4: 2.0, 7: 3.0}
    assert (fifths, "major") == estimate_key((tonic + step, weights.get(step, 1.0)) for step in MAJOR[:-1])


def test_music_that_favours_no_pitch_class_counts_as_c_major() -> None:
    """Nothing can be said, so nothing is written in front."""
    assert estimate_key((60 + i, 1.0) for i in range(12)) == (0, "major")


@given(st.lists(st.integers(0, 127), max_size=80), st.one_of(st.none(), st.integers(-7, 7)))
def test_a_spelling_always_sounds_as_the_number_that_it_spells(midis: list[int], fifths: int | None) -> None:
    """Whatever the notes: same key on the piano, at most two signs."""
    pitches = spell(midis, fifths)
    assert list(midis) == [pitch.midi for pitch in pitches]
    assert all(abs(pitch.alter) <= 2 for pitch in pitches)


def test_a_sharp_key_is_spelled_with_sharps_and_a_flat_key_with_flats() -> None:
    """The same keys of the piano in F sharp major and in G flat major."""
    line = [66, 70, 73, 77, 78]
    assert [pitch_name(pitch) for pitch in spell(line, 6)] == ["F#4", "A#4", "C#5", "E#5", "F#5"]
    assert [pitch_name(pitch) for pitch in spell(line, -6)] == ["Gb4", "Bb4", "Db5", "F5", "Gb5"]
