"""Fingering: the easiest way for one hand, around whatever fingers the teacher wants."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from counterpane.errors import CounterpaneError
from counterpane.model.piece import Hand, Note
from counterpane.practice.fingering import cost, fingers_of, position_changes, propose
from counterpane.units import pitch_from_name
from tests.practice.pieces import line, piece

KEYS = ("C", "D", "E", "F", "F#", "G", "A", "Bb", "B")
NAMES = st.sampled_from([f"{key}{octave}" for octave in (4, 5) for key in KEYS])


def fingers(names: str, hand: Hand = "right") -> list[int]:
    notes = line(names, hand)
    found = fingers_of(notes, hand)
    return [found[note.id] for note in notes]


def test_five_notes_take_five_fingers() -> None:
    """A five-finger position needs no change of position, in either hand."""
    assert fingers("C4 D4 E4 F4 G4") == [1, 2, 3, 4, 5]
    assert fingers("C3 D3 E3 F3 G3", "left") == [5, 4, 3, 2, 1]
    notes = line("C4 D4 E4 F4 G4")
    assert position_changes(notes, "right", fingers_of(notes, "right")) == ()


def test_the_left_hand_mirrors_the_right() -> None:
    """Turned over at D, where black and white keys mirror each other, a line takes the same fingers."""
    assert fingers("D4 E4 F#4 G4 A4 B4 C#5 D5") == fingers("D4 C4 Bb3 A3 G3 F3 Eb3 D3", "left")


@settings(max_examples=15)
@given(st.lists(NAMES, min_size=1, max_size=4))
def test_no_other_fingering_is_easier(names: list[str]) -> None:
    """Trying out every fingering by hand finds none that costs less."""
    notes = line(" ".join(names))
    best = cost(notes, "right", fingers_of(notes, "right"))
    for tried in product(range(1, 6), repeat=len(notes)):
        assert best <= cost(notes, "right", dict(zip((n.id for n in notes), tried, strict=True))) + 1e-9


def test_a_teachers_finger_is_kept_and_the_rest_follows() -> None:
    """With the thumb wanted on F the hand passes there."""
    notes = line("C4 D4 E4 F4 G4")
    found = propose(piece(notes, 1), "right", {"r3": 1})
    assert [found[note.id] for note in notes] == [1, 2, 3, 1, 2]


@pytest.mark.parametrize(
    ("fixed", "message"),
    [({"r0": 6}, "finger 6 for note 'r0' does not exist: choose 1 to 5"), ({"x": 1}, "no note 'x' to finger")],
)
def test_a_finger_or_note_that_does_not_exist_is_named(fixed: dict[str, int], message: str) -> None:
    """Bad input is one sentence with the hand."""
    with pytest.raises(CounterpaneError, match=message):
        propose(piece(line("C4 D4"), 1), "right", fixed)


def chord(names: str, onset: int, hand: Hand = "right") -> list[Note]:
    return [
        Note(f"{onset}{name}", hand, 1, Fraction(onset), Fraction(1), pitch_from_name(name))
        for name in names.split()
    ]


def test_a_chord_takes_one_finger_a_note_in_order() -> None:
    """From low to high the right hand's fingers rise and the left hand's fall."""
    right = fingers_of(chord("C4 E4 G4 C5", 0), "right")
    left = fingers_of(chord("C3 E3 G3 C4", 0, "left"), "left")
    assert list(right.values()) == sorted(right.values(), reverse=True)
    assert sorted(right, key=lambda n: right[n]) == ["0C4", "0E4", "0G4", "0C5"]
    assert sorted(left, key=lambda n: -left[n]) == ["0C3", "0E3", "0G3", "0C4"]
    assert len(set(right.values())) == len(set(left.values())) == 4


def test_a_cluster_of_more_than_five_notes_leaves_some_to_the_player() -> None:
    """Seven notes at once get five fingers and no error."""
    assert len(fingers_of(chord("C4 D4 E4 F4 G4 A4 B4", 0), "right")) == 5


def test_a_rest_frees_the_hand() -> None:
    """Two five-finger groups an octave apart need a change of position in one breath, none across a rest."""
    together = line("C4 D4 E4 F4 G4 C5 D5 E5 F5 G5")
    apart = line("C4 D4 E4 F4 G4 - - - C5 D5 E5 F5 G5")
    assert position_changes(together, "right", fingers_of(together, "right"))
    assert not position_changes(apart, "right", fingers_of(apart, "right"))


def test_nothing_to_finger_gives_nothing() -> None:
    """A hand that rests throughout has no fingering, and one note takes one finger."""
    assert fingers_of([], "left") == {}
    assert set(fingers_of(line("C4"), "right")) == {"r0"}
