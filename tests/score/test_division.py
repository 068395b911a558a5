"""Dividing one track between the hands: never at a fixed pitch, and right for most notes of real music."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import music21
import pytest

from counterpane.score import read_score
from counterpane.score.midi.division import divide_notes

CORPUS = Path(music21.__file__).parent / "corpus"
F = Fraction


def test_two_lines_that_wander_over_the_whole_keyboard_stay_apart() -> None:
    """Both hands climb together from the bass to the treble: the boundary climbs with them."""
    notes = []
    for i in range(32):
        notes += [(F(i), F(i + 1), 40 + i), (F(i), F(i + 1), 55 + i)]
    assert divide_notes(notes) == ["left", "right"] * 32


def test_a_line_is_not_torn_between_hands_while_the_other_rests() -> None:
    """A run alone over two octaves, after both hands played, stays with one hand."""
    notes = [(F(0), F(1), 48), (F(0), F(1), 72)] + [(F(1 + i), F(2 + i), 72 - i) for i in range(20)]
    assert len(set(divide_notes(notes)[2:])) == 1


def test_a_held_note_does_not_change_hands() -> None:
    """A bass note held under a run keeps the run in the right hand."""
    notes = [(F(0), F(8), 43)] + [(F(i), F(i + 1), 60 + i) for i in range(8)]
    notes.sort(key=lambda note: (note[0], note[2]))
    assert divide_notes(notes) == ["left"] + ["right"] * 8


def test_a_wide_chord_is_shared() -> None:
    """Nobody spans two octaves with one hand."""
    assert divide_notes([(F(0), F(1), midi) for midi in (48, 55, 67, 72)]) == ["left", "left", "right", "right"]


def test_nothing_to_divide_gives_nothing() -> None:
    """An empty stream has no hands."""
    assert divide_notes([]) == []


@pytest.mark.parametrize(
    ("file", "least"),
    [
        ("mozart/k545/movement1_exposition.mxl", 0.98),
        ("bach/bwv846.mxl", 0.93),
        ("joplin/maple_leaf_rag.mxl", 0.94),
    ],
)
def test_printed_keyboard_music_is_divided_as_printed_for_most_notes(file: str, least: float) -> None:
    """Editions in music21's corpus, their staves taken for the truth; what remains are notes that hands share."""
    piece = read_score(CORPUS / file).piece
    notes = sorted(piece.notes, key=lambda note: (note.onset, note.midi))
    hands = divide_notes([(note.onset, note.end, note.midi) for note in notes])
    right = sum(hand == note.hand for hand, note in zip(hands, notes, strict=True))
    assert least <= right / len(notes)
