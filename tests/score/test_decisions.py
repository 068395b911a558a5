"""A teacher's decisions appear in the notation as ordinary signs, and nothing else changes."""

from __future__ import annotations

from typing import Literal

import pytest

from counterpane.model.practice import Mark
from counterpane.score import ScoreDocument, engrave, read_score_bytes, with_decisions
from tests.score.conftest import FORMATS


@pytest.fixture
def document() -> ScoreDocument:
    return read_score_bytes(FORMATS["piece.musicxml"], "piece.musicxml")


def _hand(document: ScoreDocument, hand: str) -> tuple[str, ...]:
    return tuple(note.id for note in document.piece.notes if note.hand == hand)


def test_growing_and_fading_are_hairpins(document: ScoreDocument) -> None:
    """A crescendo in the right hand, a diminuendo in the left."""
    right, left = _hand(document, "right"), _hand(document, "left")
    marked = with_decisions(document, [Mark("crescendo", "right", right), Mark("diminuendo", "left", left)])
    assert 'form="cres"' in marked.mei
    assert 'form="dim"' in marked.mei
    assert engrave(marked).svgs[0].count('class="hairpin"') == 2


@pytest.mark.parametrize("kind", ["staccato", "tenuto"])
def test_articulated_notes_are_so_in_print_and_in_the_piece(
    document: ScoreDocument, kind: Literal["staccato", "tenuto"]
) -> None:
    """Only the notes that were named."""
    chosen = _hand(document, "left")[:3]
    marked = with_decisions(document, [Mark(kind, "left", chosen)])
    assert tuple(note.id for note in marked.piece.notes if kind in note.articulations) == chosen
    assert engrave(marked).svgs[0].count('class="artic"') == 3


def test_a_slur_joins_the_first_note_to_the_last(document: ScoreDocument) -> None:
    """One slur, over a tied note too."""
    right = _hand(document, "right")
    assert engrave(with_decisions(document, [Mark("slur", "right", right)])).svgs[0].count('class="slur"') == 1


def test_dynamics_and_words_stand_at_their_note(document: ScoreDocument) -> None:
    """A letter and a word."""
    first = _hand(document, "right")[:1]
    marks = [Mark("dynamic", "right", first, "p"), Mark("words", "right", first, "singing")]
    marked = with_decisions(document, marks)
    svg = engrave(marked).svgs[0]
    assert 'class="dynam"' in svg
    assert "singing" in svg


def test_marks_follow_the_hand_that_is_shown(document: ScoreDocument) -> None:
    """The right hand's dots are not on the left hand's page."""
    marked = with_decisions(document, [Mark("staccato", "right", _hand(document, "right"))])
    assert 'class="artic"' in engrave(marked, hands="right").svgs[0]
    assert 'class="artic"' not in engrave(marked, hands="left").svgs[0]


def test_ids_stay_and_marks_can_be_added_twice(document: ScoreDocument) -> None:
    """Notes keep their ids; a dot is not set a second time; ids of marks stay apart."""
    right = _hand(document, "right")
    once = with_decisions(document, [Mark("staccato", "right", right), Mark("crescendo", "right", right)])
    twice = with_decisions(once, [Mark("staccato", "right", right), Mark("slur", "right", right)])
    assert [note.id for note in document.piece.notes] == [note.id for note in twice.piece.notes]
    assert once.mei.count('artic="stacc"') == twice.mei.count('artic="stacc"') == len(right)
    assert engrave(twice).svgs[0].count('class="hairpin"') == engrave(twice).svgs[0].count('class="slur"') == 1


def test_no_marks_change_nothing_and_marks_for_other_notes_are_left_out(document: ScoreDocument) -> None:
    """An empty list gives the document itself; an unknown note no mark."""
    assert with_decisions(document, []) is document
    assert "slur" not in with_decisions(document, [Mark("slur", "right", ("n900", "n901"))]).mei
