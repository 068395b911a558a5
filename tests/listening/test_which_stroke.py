"""Which of several strokes of a key played the note: told by what the others would have been."""

from __future__ import annotations

import pytest

from counterpane.listening.alignment.explanations import Explanations
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.runs import Run, Stroke
from counterpane.listening.alignment.struck_keys import read_struck_keys
from counterpane.listening.alignment.which_stroke import settle_strokes
from counterpane.listening.alignment.written import read_written
from counterpane.model.performance import Performance
from counterpane.model.piece import Piece
from tests.listening.scenes import STEP_MS, heard, played, said, whole, written

SCALE = "C5 D5 E5 F5 G5 A5 B5 C6 | B5 A5 G5 F5 E5 D5 C5 B4", "C3 . E3 . G3 . E3 . | G3 . F3 . E3 . G3 ."
BROKEN = "C5 E5 G5 E5 F5 A5 F5 D5 | E5 D5 C5 B4 C5 . . .", "C3 . C3 . F3 . G3 . | C3 . G3 . C3 . . ."

SCENES = {
    "the same key again in the next note's turn, after a note left out": (
        BROKEN,
        "C5+C3 E5 C3 E5@200 E5@240 F5+F3@470 A5 F5+G3 D5",
        "=l0 =r0 =r1 =l2 =r3 !r4 =l4 =r4 =r5 =l6 =r6 =r7",
    ),
    "the same key again beside a wrong one of the other hand": (
        SCALE,
        "C5+C3 D5 E5+E3 F5@1000 B2 F5@67 G3@330 A5@840 B5+E3 C6 B5+G3",
        "=l0 =r0 =r1 =l2 =r2 =r3 !l4 !r4 =l4 =r5 =l6 =r6 =r7 =l8 =r8",
    ),
    "a key brushed beside another, that of the next note, which then comes in time": (
        SCALE,
        "C5+C3 D5 E5+E3 F5 G5+G3 A5 B5@5/60 B5+E3@245 C6 B5+G3 A5 G5+F3",
        "=l0 =r0 =r1 =l2 =r2 =r3 =l4 =r4 =r5 + =l6 =r6 =r7 =l8 =r8 =r9 =l10 =r10",
    ),
    "a key brushed too early, and a wrong one in its note's turn": (
        SCALE,
        "C5+C3 D5 E5+E3 F5 G5+G3 A5 B5@70/120 A#5@190 E3@5 C6@245 B5+G3 A5 G5+F3",
        "=l0 =r0 =r1 =l2 =r2 =r3 =l4 =r4 =r5 + !r6 =l6 =r7 =l8 =r8 =r9 =l10 =r10",
    ),
}


@pytest.mark.parametrize(("hands", "text", "expected"), SCENES.values(), ids=SCENES)
def test_the_stroke_that_leaves_the_others_explained_played_the_note(
    hands: tuple[str, str], text: str, expected: str
) -> None:
    """Eighths of 250 ms; "@" gives another time since the key before, "/" how long a key was held."""
    assert said(heard(written(*hands), text)) == expected


def test_strokes_of_a_key_are_paired_again_in_order() -> None:
    """D was given to its second stroke; with the first the second is a slip for E, which was put right."""
    piece = written("C5 D5 E5 F5 G5 A5 B5 C6", "C3 . . . . . . .")
    performance = played("C5 D5 D5@240 E5@400 F5 G5 A5 B5 C6")
    pairs = _paired(piece, performance, {0: 0, 2: 1, 3: 2, 4: 3, 5: 4, 6: 5, 7: 6, 8: 7})
    possible = settle_strokes(Explanations(pairs, {}))
    assert pairs.played == {0: 0, 1: 1, 3: 2, 4: 3, 5: 4, 6: 5, 7: 6, 8: 7}
    names = pairs.written.notes
    assert {names[note].id for note, _ in possible[2]} >= {"r2"}


def test_strokes_stay_as_they_are_where_no_other_pairing_is_better() -> None:
    """The first D was given its note: nothing changes, and what the second one may have been is still told."""
    piece = written("C5 D5 E5 F5 G5 A5 B5 C6", "C3 . . . . . . .")
    performance = played("C5 D5 D5@240 E5@400 F5 G5 A5 B5 C6")
    right = {0: 0, 1: 1, 3: 2, 4: 3, 5: 4, 6: 5, 7: 6, 8: 7}
    pairs = _paired(piece, performance, right)
    assert list(settle_strokes(Explanations(pairs, {}))) == [2]
    assert pairs.played == right


def test_no_stroke_plays_a_note_that_its_hand_has_passed() -> None:
    """D was left out; the one that comes three notes later is not that D, badly as it suits anything else."""
    piece = written("C5 D5 E5 F5 G5 A5 B5 C6", "C3 . . . . . . .")
    right = {0: 0, 1: 2, 2: 3, 3: 4, 5: 5, 6: 6, 7: 7}
    pairs = _paired(piece, played("C5 E5 F5 G5 D5@60 A5@190 B5 C6"), right)
    settle_strokes(Explanations(pairs, {}))
    assert pairs.played == right


def test_a_hammered_key_is_left_to_the_first_pairing() -> None:
    """Eight strokes of one key for five notes: no order can be told, so that none is looked for."""
    piece = written("C5 D5 D5 D5 D5 D5 E5 F5", "C3 . . . . . . .")
    performance = played("C5 D5 " + "D5@46 " * 7 + "E5 F5")
    right = {0: 0, 9: 6, 10: 7}
    pairs = _paired(piece, performance, right)
    settle_strokes(Explanations(pairs, {}))
    assert pairs.played == right


def _paired(piece: Piece, performance: Performance, right: dict[int, int]) -> Pairs:
    """Return one run of a right hand alone with the notes that some events are said to have played."""
    table = read_written(piece, whole(piece), "right")
    group, strokes = 0, []
    for played_note in performance.notes:
        group = right.get(played_note.event, group)
        strokes.append(Stroke(played_note.event, group, "right", played_note.event in right))
    pairs = Pairs(table, Run(strokes), read_struck_keys(performance), 2 * STEP_MS)
    for event, note in right.items():
        pairs.take(event, note)
    return pairs
