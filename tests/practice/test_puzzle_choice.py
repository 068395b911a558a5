"""Which puzzle opens a section."""

from __future__ import annotations

from counterpane.model.analysis import Puzzle
from counterpane.practice.puzzle_choice import puzzle_for
from tests.practice.pieces import assignment

PATCH = next(each for each in assignment().patches if each.id == "p2")  # measures 5 to 8


def puzzle(name: str, level: int, first: int, last: int, kind: str = "count-entries") -> Puzzle:
    return Puzzle(name, level, kind, "?", (), 1, (), (), "", first, last, ())


INSIDE = puzzle("inside", 1, 5, 6)
TOUCHING = puzzle("touching", 1, 4, 6)
ELSEWHERE = puzzle("elsewhere", 1, 9, 12)
HARD = puzzle("hard", 3, 5, 6)
OTHER_KIND = puzzle("other", 1, 5, 6, "tap-highest")


def test_a_puzzle_about_the_section_is_preferred() -> None:
    """Inside before touching before elsewhere."""
    assert puzzle_for(PATCH, [ELSEWHERE, TOUCHING, INSIDE], "early") == INSIDE
    assert puzzle_for(PATCH, [ELSEWHERE, TOUCHING], "early") == TOUCHING
    assert puzzle_for(PATCH, [ELSEWHERE], "early") == ELSEWHERE


def test_the_level_is_the_students() -> None:
    """A beginner gets the easy one, an advanced student the hard one."""
    assert puzzle_for(PATCH, [HARD, INSIDE], "early") == INSIDE
    assert puzzle_for(PATCH, [HARD, INSIDE], "advanced") == HARD


def test_a_kind_that_was_just_asked_waits() -> None:
    """After a counting puzzle comes another kind, and an answered puzzle comes last."""
    before = puzzle("before", 1, 1, 4)
    assert puzzle_for(PATCH, [before, INSIDE, OTHER_KIND], "early", ["before"]) == OTHER_KIND
    assert puzzle_for(PATCH, [INSIDE, OTHER_KIND], "early", ["other"]) == INSIDE
    assert puzzle_for(PATCH, [INSIDE], "early", ["inside"]) == INSIDE


def test_a_piece_without_puzzles_has_none() -> None:
    """Nothing is made up."""
    assert puzzle_for(PATCH, [], "early") is None
