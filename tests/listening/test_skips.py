"""Skips: what no hand played is gone past, what one hand lacks is missing."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from counterpane.listening.skips import Skip, find_skips, missing_notes
from counterpane.model.piece import Note
from tests.listening.measures.playing import Key, heard_from, piece_of, play

PIECE = piece_of("C4:1/2 D4:1/2 E4:1/2 F4:1/2 G4:1/2 F4:1/2 E4:1/2 D4:1/2 " * 4, "C3:1/2 G3:1/2 E3:1 " * 8)


def _without(gone: Callable[[Note], bool], *, in_time: bool = True) -> list[Key]:
    """Play all but some notes of measure 2; in time, or straight on from the last note before them."""
    keys = [key for key in play(PIECE) if not gone(PIECE.by_id[str(key.note)])]
    if in_time:
        return keys
    after = min(PIECE.by_id[str(key.note)].onset for key in keys if PIECE.by_id[str(key.note)].onset > 5)
    earlier = float(after - 5) * 1000
    return [
        replace(key, onset_ms=key.onset_ms - earlier) if PIECE.by_id[str(key.note)].onset >= after else key
        for key in keys
    ]


@pytest.mark.parametrize(
    ("gone", "in_time", "skips"),
    [
        pytest.param(lambda note: 5 <= note.onset < 6, False, [(4.5, 6.0)], id="a beat gone past by both hands"),
        pytest.param(lambda note: 5 <= note.onset < 6, True, [(4.5, 6.0)], id="both hands silent for a beat"),
        pytest.param(lambda note: note.onset == 5, False, [(4.5, 5.5)], id="one onset, and its time with it"),
        pytest.param(lambda note: note.onset == 5, True, [], id="one onset that did not sound"),
        pytest.param(lambda note: note.hand == "right" and 5 <= note.onset < 6.5, True, [], id="one hand went on"),
    ],
)
def test_what_is_a_skip(gone: Callable[[Note], bool], in_time: bool, skips: list[tuple[float, float]]) -> None:
    """Two onsets that both hands lack, or time that was passed over; else notes did not sound."""
    heard = heard_from(PIECE, _without(gone, in_time=in_time))
    (one,) = heard.passes
    found = list(find_skips(heard, one))
    assert [(skip.before, skip.after) for skip in found] == skips
    assert {note.id for note in missing_notes(heard, one)} == {note.id for note in PIECE.notes if gone(note)}
    if skips:
        assert {note.id for skip in found for note in skip.notes} == {
            note.id for note in PIECE.notes if gone(note)
        }


def test_a_hand_that_did_not_play_skips_nothing() -> None:
    """The right hand alone: what the left has is not missing, and its silence is no skip."""
    heard = heard_from(PIECE, [key for key in play(PIECE) if str(key.note).startswith("r")])
    (one,) = heard.passes
    assert missing_notes(heard, one) == []
    assert list[Skip](find_skips(heard, one)) == []
