"""A teacher's decisions appear in the notation as ordinary signs, and nothing else changes."""

from __future__ import annotations

import pytest

from counterpane.errors import UnsuitableScore
from counterpane.score import Mark, engrave, read_score_bytes, with_decisions
from tests.score.conftest import FORMATS


@pytest.fixture
def document():
    return read_score_bytes(FORMATS["piece.musicxml"], "piece.musicxml")


def test_growing_and_fading_are_hairpins(document):
    """One crescendo over both hands, one diminuendo for the left."""
    marked = with_decisions(document, [Mark("grow", "both", 0, 1), Mark("fade", "left", 2, 3)])
    assert 'form="cres"' in marked.mei
    assert 'form="dim"' in marked.mei
    assert engrave(marked).svgs[0].count('class="hairpin"') == 2


def test_separate_notes_are_staccato_in_print_and_in_the_piece(document):
    """Only the hand and the measures that were named."""
    marked = with_decisions(document, [Mark("separate", "left", 1, 2)])
    dotted = {note.id for note in marked.piece.notes if "staccato" in note.articulations}
    expected = {
        n.id for n in document.piece.notes if n.hand == "left" and 1 <= document.piece.place(n.onset).measure <= 2
    }
    assert expected == dotted
    assert len(expected) == engrave(marked).svgs[0].count('class="artic"')


def test_a_mark_may_name_its_notes(document):
    """The beginning of one entry and no more."""
    first = next(note for note in document.piece.notes if note.hand == "right")
    marked = with_decisions(document, [Mark("separate", "right", 0, 3, (first.id,))])
    assert [first.id] == [note.id for note in marked.piece.notes if "staccato" in note.articulations]


def test_joined_notes_are_under_a_slur_for_each_hand(document):
    """Both hands: two slurs."""
    assert engrave(with_decisions(document, [Mark("joined", "both", 1, 2)])).svgs[0].count('class="slur"') == 2


def test_marks_follow_the_hand_that_is_shown(document):
    """The right hand's dots are not on the left hand's page; a hairpin over both is on each."""
    marked = with_decisions(document, [Mark("separate", "right", 1, 1), Mark("grow", "both", 1, 2)])
    left = engrave(marked, hands="left").svgs[0]
    assert (left.count('class="artic"'), left.count('class="hairpin"')) == (0, 1)


def test_ids_stay_and_marks_can_be_added_twice(document):
    """Notes keep their ids; a dot is not set a second time; ids of marks stay apart."""
    once = with_decisions(document, [Mark("separate", "both", 0, 3), Mark("grow", "right", 1, 2)])
    twice = with_decisions(once, [Mark("separate", "both", 0, 3), Mark("fade", "right", 2, 3)])
    assert [note.id for note in document.piece.notes] == [note.id for note in twice.piece.notes]
    assert once.mei.count('artic="stacc"') == twice.mei.count('artic="stacc"')
    assert engrave(twice).svgs[0].count('class="hairpin"') == 2


def test_no_marks_change_nothing_and_missing_measures_are_named(document):
    """An empty list gives the document itself."""
    assert document is with_decisions(document, [])
    with pytest.raises(UnsuitableScore, match="no measure 40"):
        with_decisions(document, [Mark("grow", "both", 1, 40)])
