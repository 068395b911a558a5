"""The demo pieces are sound two-part writing and lie under a child's hands.

Rules checked: no parallel fifths or octaves, no parts that cross (strict two-part counterpoint, as in Fux,
Gradus ad Parnassum, 1725; the wording here is from memory), every beat a consonance or a tone that moves by step.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from counterpane.model.piece import Note, Piece
from counterpane.score import read_score

_FOLDER = Path(__file__).parents[2] / "demo" / "pieces"
_MEASURES = {"two-lanterns": 8, "the-ferry-bell": 16, "patchwork-in-d-minor": 24}
_PERFECT = {0, 7}
_DISSONANT = {1, 2, 5, 6, 10, 11}


@pytest.fixture(scope="module", params=sorted(_MEASURES))
def piece(request: pytest.FixtureRequest) -> Piece:
    return read_score(_FOLDER / f"{request.param}.musicxml").piece


def _sounding_pairs(piece: Piece) -> list[tuple[Note, Note]]:
    """Right and left at every onset where both hands sound."""
    pairs = []
    for onset in sorted({note.onset for note in piece.notes}):
        sounding = {note.hand: note for note in piece.notes if note.onset <= onset < note.end}
        if len(sounding) == 2:
            pairs.append((sounding["right"], sounding["left"]))
    return pairs


def test_there_are_three_graded_pieces() -> None:
    """About eight, sixteen and twenty-four measures."""
    found = {path.stem: len(read_score(path).piece.measures) for path in _FOLDER.glob("*.musicxml")}
    assert found == _MEASURES


def test_no_fifths_or_octaves_move_in_parallel(piece: Piece) -> None:
    """Two parts that move the same way never do so from one fifth or octave to another."""
    for (right, left), (next_right, next_left) in pairwise(_sounding_pairs(piece)):
        before, after = (right.midi - left.midi) % 12, (next_right.midi - next_left.midi) % 12
        moved = (next_right.midi - right.midi) * (next_left.midi - left.midi)
        assert not (moved > 0 and before == after and after in _PERFECT), piece.place(next_right.onset)


def test_the_hands_never_cross(piece: Piece) -> None:
    """The right hand stays above the left."""
    assert all(right.midi > left.midi for right, left in _sounding_pairs(piece))


def test_hands_that_strike_together_on_a_beat_are_consonant(piece: Piece) -> None:
    """Thirds, sixths, fifths and octaves on the beats; anything else only in passing."""
    for right, left in _sounding_pairs(piece):
        if right.onset == left.onset and right.onset.denominator == 1:
            assert (right.midi - left.midi) % 12 not in _DISSONANT, piece.place(right.onset)


def test_each_hand_has_one_note_at_a_time_and_a_comfortable_range(piece: Piece) -> None:
    """Right from B3 to C6, left from E2 to F4, no leap wider than a ninth."""
    for hand, lowest, highest in (("right", 58, 84), ("left", 40, 65)):
        notes = [note for note in piece.notes if note.hand == hand]
        assert all(first.end <= second.onset for first, second in pairwise(notes))
        assert lowest <= min(note.midi for note in notes)
        assert max(note.midi for note in notes) <= highest
        assert max(abs(b.midi - a.midi) for a, b in pairwise(notes)) <= 14
