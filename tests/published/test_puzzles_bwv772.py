"""Puzzles about BWV 772 against what is plain in the score.

Source: J. S. Bach, Invention in C major BWV 772, encoded by hand in tests/published/scores/bwv772.krn. That the
sequence on the inverted subject falls in measures 3-4 and 11-12 while the sequence on the upright subject rises
in measures 19-20 is read off the score (common practice, no source: every analysis of the piece says so).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from counterpane.analysis import analyse
from counterpane.analysis.puzzles import make_puzzles
from counterpane.model.analysis import Puzzle
from counterpane.model.piece import Piece
from counterpane.score import read_score

SCORE = Path(__file__).parent / "scores" / "bwv772.krn"


@pytest.fixture(scope="module")
def piece() -> Piece:
    return read_score(SCORE).piece


@pytest.fixture(scope="module")
def puzzles(piece: Piece) -> tuple[Puzzle, ...]:
    return make_puzzles(piece, analyse(piece))


def chosen(puzzle: Puzzle) -> str:
    assert isinstance(puzzle.answer, int)
    return puzzle.choices[puzzle.answer]


def test_what_changed_the_third_time(puzzles: tuple[Puzzle, ...]) -> None:
    """The sequence fell in measures 3 and 11; in measure 19 it rises."""
    asked = [each for each in puzzles if each.kind == "choose-change" and "third time" in each.question]
    about_the_sequence = [each for each in asked if "measures 19 to 20" in each.explanation]
    assert {each.first_measure for each in about_the_sequence} == {3, 11}
    for each in about_the_sequence:
        assert chosen(each) == "the sequence rises where it fell"
        assert len(each.choices) == 4


@pytest.mark.parametrize(
    ("measures", "way"), [("3 to 4", "it falls"), ("11 to 12", "it falls"), ("19 to 20", "it rises")]
)
def test_which_way_the_sequences_go(puzzles: tuple[Puzzle, ...], measures: str, way: str) -> None:
    """Two fall, the last one rises."""
    asked = [p for p in puzzles if p.kind == "choose-sequence" and f"measures {measures}" in p.question]
    assert [chosen(each) for each in asked] == [way]


def test_the_inverted_statements_of_measures_3_and_4(puzzles: tuple[Puzzle, ...]) -> None:
    """The right hand states the subject four times there, each time turned upside down."""
    asked = {p.kind: p for p in puzzles if (p.first_measure, p.last_measure) == (3, 4)}
    assert asked["count-entries"].answer == 4
    assert asked["count-inverted"].answer == 4
    assert chosen(asked["choose-more"]) == "right hand"


def test_who_begins_and_who_answers(piece: Piece, puzzles: tuple[Puzzle, ...]) -> None:
    """The right hand opens, the left hand answers half a measure later; four entries in the first two measures."""
    by_id = {each.id: each for each in puzzles}
    assert chosen(by_id["choose-answers-opening"]) == "left hand"
    opening = [p for p in puzzles if (p.first_measure, p.last_measure) == (1, 2)]
    tap = next(p for p in opening if p.kind == "tap-entries")
    places = [piece.place(piece.by_id[note].onset) for note in tap.answer] if isinstance(tap.answer, tuple) else []
    assert [(place.measure, float(place.beat)) for place in places] == [(1, 1.25), (1, 3.25), (2, 1.25), (2, 3.25)]


def test_the_piece_alone_has_puzzles_of_more_than_ten_kinds_and_three_levels(puzzles: tuple[Puzzle, ...]) -> None:
    """Enough for weeks of practice."""
    assert len({each.kind for each in puzzles}) > 10
    assert {each.level for each in puzzles} == {1, 2, 3}
