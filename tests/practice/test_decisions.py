"""Musical decisions: invited by the analysis with a reason, and written as ordinary notation."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from counterpane.analysis import analyse
from counterpane.model.analysis import Analysis
from counterpane.model.piece import Piece
from counterpane.model.practice import Decision
from counterpane.practice.decisions import invitations, marks
from counterpane.score import read_score
from tests.practice.pieces import analysis, running_piece

DEMO = Path(__file__).parents[2] / "demo" / "pieces"


@pytest.fixture(scope="module")
def patchwork() -> tuple[Piece, Analysis]:
    piece = read_score(DEMO / "patchwork-in-d-minor.musicxml").piece
    return piece, analyse(piece)


def by_section(piece: Piece, found: Analysis, language: str = "en") -> dict[str, Decision]:
    return {each.section: each for each in invitations(piece, found, language)}


def test_a_falling_sequence_invites_to_fade_and_a_rising_one_to_grow(patchwork: tuple[Piece, Analysis]) -> None:
    """In the demo piece the first two sequences fall; the third rises to the highest note of the piece."""
    invited = by_section(*patchwork)
    assert [invited[label].shape for label in ("B1", "B2", "B3")] == ["fade", "fade", "grow"]
    assert "leads to the highest note of the piece" in invited["B3"].reason
    assert "The sequence falls 4 times." in invited["B1"].reason


def test_entries_that_follow_one_another_are_set_apart() -> None:
    """Two entries invite a little space before each; one invites to join the line."""
    of = running_piece(4)
    entries = [("right", "1:1", "1:4"), ("left", "2:1", "2:4"), ("left", "3:1", "3:4")]
    invited = by_section(of, analysis(of, [("A1", 1, 2), ("B1", 3, 4)], entries))
    assert (invited["A1"].touch, invited["A1"].leads) == ("separate", "none")
    assert (invited["B1"].touch, invited["B1"].leads) == ("joined", "left")
    assert "2 entries follow one another" in invited["A1"].reason
    assert "The left hand has 1 of 1 entry." in invited["B1"].reason


def test_invitations_speak_german(patchwork: tuple[Piece, Analysis]) -> None:
    """The language changes the sentences and no choice."""
    english, german = by_section(*patchwork), by_section(*patchwork, language="de")
    assert [(d.shape, d.touch, d.leads) for d in english.values()] == [
        (d.shape, d.touch, d.leads) for d in german.values()
    ]
    assert "Die Sequenz steigt 4-mal" in german["B3"].reason


def test_decisions_become_ordinary_notation() -> None:
    """Growing is a hairpin, leading a louder dynamic, setting apart a dot before the entry and a line on it."""
    of = running_piece(2)
    found = analysis(of, [("A1", 1, 2)], [("right", "2:1", "2:4")])
    chosen = Decision("A1", 1, 2, "grow", "separate", "left")
    assert [(m.kind, m.hand, m.notes, m.text) for m in marks(of, found, [chosen])] == [
        ("crescendo", "right", ("r0", "r31"), ""),
        ("dynamic", "right", ("r0",), "mp"),
        ("dynamic", "left", ("l0",), "mf"),
        ("staccato", "right", ("r15",), ""),
        ("tenuto", "right", ("r16",), ""),
    ]


def test_a_joined_line_is_a_slur_and_a_steady_one_has_no_hairpin() -> None:
    """The other choices are written too."""
    of = running_piece(2)
    found = analysis(of, [("A1", 1, 2)], [("right", "2:1", "2:4")])
    steady = Decision("A1", 1, 2, "steady", "joined", "none")
    assert [(m.kind, m.notes) for m in marks(of, found, [steady])] == [("slur", ("r16", "r28"))]
    fading = replace(steady, shape="fade")
    assert [m.kind for m in marks(of, found, [fading])] == ["diminuendo", "slur"]


def test_nothing_is_shortened_before_an_entry_after_a_rest() -> None:
    """Where a rest stands before the entry, the space is there already."""
    of = running_piece(2)
    found = analysis(of, [("A1", 1, 2)], [("right", "1:1", "1:4")])
    made = marks(of, found, [Decision("A1", 1, 2, "steady", "separate", "none")])
    assert [(m.kind, m.notes) for m in made] == [("tenuto", ("r0",))]


def test_a_decision_about_a_section_that_is_gone_leaves_no_mark() -> None:
    """After a correction of the sections an old decision waits without a trace."""
    of = running_piece(2)
    assert marks(of, analysis(of, [("A1", 1, 2)]), [Decision("Z9", 1, 2, "grow", "joined", "none")]) == ()
