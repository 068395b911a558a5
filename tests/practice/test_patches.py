"""Patches follow the sections and never cut inside a statement; seams, pairs and the whole join them."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from counterpane.analysis import analyse
from counterpane.errors import DrillError
from counterpane.model.practice import Level, Patch
from counterpane.practice.ladders import load_ladders
from counterpane.practice.patches import cut_patches
from counterpane.score import read_score
from tests.analysis.compositions import compose
from tests.practice.pieces import analysis, running_piece

DEMO = Path(__file__).parents[2] / "demo" / "pieces"
LEVELS: tuple[Level, ...] = ("early", "intermediate", "advanced")


def spans(patches: tuple[Patch, ...], kind: str = "patch") -> list[tuple[int, int]]:
    return [(each.first_measure, each.last_measure) for each in patches if each.kind == kind]


def test_short_sections_are_patches_as_they_are() -> None:
    """Two sections of two measures give two patches, one seam, one pair and the whole."""
    of = running_piece(4)
    patches = cut_patches(of, analysis(of, [("A1", 1, 2), ("B1", 3, 4)]), "intermediate", 60)
    assert [(p.id, p.kind, p.first_measure, p.last_measure, p.parts) for p in patches] == [
        ("p1", "patch", 1, 2, ()),
        ("p2", "patch", 3, 4, ()),
        ("p1+p2", "seam", 2, 3, ("p1", "p2")),
        ("p1-p2", "pair", 1, 4, ("p1", "p2")),
        ("whole", "whole", 1, 4, ("p1", "p2")),
    ]
    assert patches[0].reason == "Section A1 in one piece: measures 1 to 2."


def test_a_long_section_is_cut_where_no_statement_is_cut() -> None:
    """Eight measures with statements over bar lines 3, 5 and 7 can only be cut before 2, 4, 6 and 8."""
    of = running_piece(8)
    over_bar_lines = [("right", f"{m}:3", f"{m + 1}:2") for m in (2, 4, 6)]
    patches = cut_patches(of, analysis(of, [("A1", 1, 8)], over_bar_lines), "early", 72)
    assert len(spans(patches)) > 1
    assert {first for first, _ in spans(patches)} <= {1, 2, 4, 6, 8}


def test_a_statement_that_ends_on_a_bar_line_ends_there() -> None:
    """When every statement's last note falls on the next downbeat, that bar line is its end and may be cut."""
    of = running_piece(6)
    chained = [("right" if m % 2 else "left", f"{m}:1", f"{m + 1}:1") for m in range(1, 6)]
    patches = cut_patches(of, analysis(of, [("A1", 1, 6)], chained), "early", 72)
    assert len(spans(patches)) > 1


def test_a_section_that_a_statement_fills_stays_whole_and_says_so() -> None:
    """Six measures under one long statement are one patch, however early the student."""
    of = running_piece(6)
    patches = cut_patches(of, analysis(of, [("A1", 1, 6)], [("left", "1:1", "6:4")]), "early", 72)
    assert spans(patches) == [(1, 6)]
    assert "although long for this level" in patches[0].reason


def test_sections_that_a_statement_joins_stay_together() -> None:
    """A statement across the boundary of two sections makes one patch of both."""
    of = running_piece(4)
    of_two = analysis(of, [("A1", 1, 2), ("B1", 3, 4)], [("right", "2:3", "3:2")])
    patches = cut_patches(of, of_two, "advanced", 60)
    assert spans(patches) == [(1, 4)]
    assert patches[0].sections == ("A1", "B1")


def test_cuts_fall_on_beginnings_of_statements() -> None:
    """Where it can choose, a patch begins with a statement."""
    of = running_piece(10)
    starts = [("right", "1:1", "1:4"), ("right", "4:1", "4:4"), ("left", "7:1", "7:4")]
    patches = cut_patches(of, analysis(of, [("A1", 1, 10)], starts), "early", 40)
    ladders = load_ladders().lengths["early"]
    assert len(spans(patches)) >= 3
    assert {1, 4, 7} <= {first for first, _ in spans(patches)} or ladders.quarters(1) < 12


def test_the_level_decides_how_long_a_patch_may_be() -> None:
    """The earlier the level, the more patches."""
    of = running_piece(24)
    counts = [len(spans(cut_patches(of, analysis(of, [("A1", 1, 24)]), level, 72))) for level in LEVELS]
    assert counts[0] > counts[1] > counts[2] >= 1


def test_a_faster_goal_makes_shorter_patches() -> None:
    """Difficulty at the goal tempo limits the length."""
    of = running_piece(24)
    slow, fast = (len(spans(cut_patches(of, analysis(of, []), "intermediate", tempo))) for tempo in (40, 140))
    assert fast > slow


@settings(max_examples=20)
@given(st.integers(0, 60), st.sampled_from(LEVELS))
def test_patches_tile_any_piece_and_cut_no_statement(seed: int, level: Level) -> None:
    """No gap, no overlap, no bar line inside a statement; each seam holds the two measures around a bar line."""
    composition = compose(seed, measures=16)
    found = analyse(composition.piece)
    patches = cut_patches(composition.piece, found, level, 80)
    own = spans(patches)
    assert own[0][0] == composition.piece.measures[0].number
    assert own[-1][1] == composition.piece.measures[-1].number
    assert all(after[0] == before[1] + 1 for before, after in pairwise(own))
    onsets = {measure.number: measure.onset for measure in composition.piece.measures}
    for first, _ in own[1:]:
        for statement in found.statements:
            assert not statement.start.offset < onsets[first] < statement.end.offset
    assert spans(patches, "seam") == [(before[1], after[0]) for before, after in pairwise(own)]
    assert spans(patches, "pair") == [(before[0], after[1]) for before, after in pairwise(own)]


@pytest.mark.parametrize(("measures", "whole"), [(1, 0), (300, 1)])
def test_pieces_of_one_and_of_300_measures_work(measures: int, whole: int) -> None:
    """One measure is one patch with nothing to join; 300 measures without sections are cut all the same."""
    of = running_piece(measures)
    patches = cut_patches(of, analysis(of, []), "early", 72)
    assert len(spans(patches, "whole")) == whole
    assert spans(patches)[0][0] == 1
    assert spans(patches)[-1][1] == measures
    assert len({patch.id for patch in patches}) == len(patches)


def test_the_same_piece_gives_the_same_patches() -> None:
    """Ids are stable: what a student did yesterday still belongs to the same patch."""
    of = running_piece(12)
    first, second = (cut_patches(of, analysis(of, [("A1", 1, 5)]), "early", 72) for _ in range(2))
    assert first == second


def test_a_level_that_does_not_exist_is_named() -> None:
    """An unknown level is one sentence with those that exist."""
    of = running_piece(1)
    with pytest.raises(
        DrillError, match="there is no level 'expert': choose one of early, intermediate, advanced"
    ):
        cut_patches(of, analysis(of, []), "expert", 72)  # type: ignore[arg-type] # a word from outside


@pytest.mark.parametrize("name", ["two-lanterns", "the-ferry-bell", "patchwork-in-d-minor"])
@pytest.mark.parametrize("level", LEVELS)
def test_nobody_practises_a_last_chord_alone(name: str, level: Level) -> None:
    """Every patch holds at least four onsets: what is less stays with what leads to it."""
    piece = read_score(DEMO / f"{name}.musicxml").piece
    for patch in cut_patches(piece, analyse(piece), level):
        if patch.kind == "patch":
            inside = range(patch.first_measure, patch.last_measure + 1)
            onsets = {note.onset for note in piece.notes if piece.measure_at(note.onset).number in inside}
            assert len(onsets) >= 4, patch.id
