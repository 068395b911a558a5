"""A wrong key is held about as long as the note it stood for, by the measure of how this player holds keys."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.listening.alignment import align
from counterpane.listening.alignment.held import MOST_LENGTH, Held, HeldShare, usual_shares
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.runs import Run, Stroke
from counterpane.listening.alignment.struck_keys import read_struck_keys
from counterpane.listening.alignment.written import read_written
from counterpane.model.performance import Performance
from counterpane.model.piece import Piece
from tests.listening.scenes import STEP_MS, played, said, whole, written

RIGHT = "E4 F4 G4 A4 B4 A4 G4 F4 | G4 A4 B4 C5 B4 A4 G4 F4 | E4 . . . . . . ."
LEFT = "C4 . . . D4 . . . | C4 . . . D4 . . . | C4 . . . . . . ."
BOTH_MISSED = "E4+C4 F4 G4 A4 B4+D4 A4 G4 F4 | E4 A4 B4 C5 B4+D4 A4 G4 F4 | E4+C4"
"""At the second barline one key, a third from the eighth of the right hand and from the half note of the left."""

THE_WRONG_KEY = 10
EIGHTH_MS, HALF_MS = STEP_MS, 4 * STEP_MS


def with_lengths(piece: Piece, text: str, share: float, wrong_key_ms: float = EIGHTH_MS) -> Performance:
    """Hold every key for a share of the eighth or the half note that it is, the wrong one for so long."""
    lengths = {note.midi: 2 * STEP_MS * float(note.duration) for note in piece.notes}
    notes = [
        replace(
            note,
            release_ms=note.onset_ms
            + (wrong_key_ms if note.event == THE_WRONG_KEY else share * lengths.get(note.midi, EIGHTH_MS)),
        )
        for note in played(text).notes
    ]
    return Performance(tuple(notes))


@pytest.mark.parametrize(
    ("share", "held_ms", "note"),
    [
        (1.0, EIGHTH_MS, "r8"),
        (1.0, HALF_MS, "l8"),
        (0.4, 0.4 * EIGHTH_MS, "r8"),
        (0.4, 0.4 * HALF_MS, "l8"),
        (1.3, 1.3 * EIGHTH_MS, "r8"),
        (1.3, 1.3 * HALF_MS, "l8"),
    ],
)
def test_of_two_missing_notes_the_one_that_is_as_long_is_meant(share: float, held_ms: float, note: str) -> None:
    """Legato, detached or overlapped: a short wrong key stood for the eighth, a long one for the half note."""
    piece = written(RIGHT, LEFT)
    alignment = align(piece, whole(piece), with_lengths(piece, BOTH_MISSED, share, held_ms))
    assert said(alignment).split()[THE_WRONG_KEY] == f"!{note}"


@given(st.floats(0.2, 1.8), st.sampled_from([EIGHTH_MS, HALF_MS]))
def test_only_lengths_beside_one_another_count(share: float, held_ms: float) -> None:
    """Whoever holds every key for longer, or shorter, by one factor is heard the same."""
    piece = written(RIGHT, LEFT)
    usual = with_lengths(piece, BOTH_MISSED, 1.0, held_ms)
    other = with_lengths(piece, BOTH_MISSED, share, share * held_ms)
    assert align(piece, whole(piece), other).events == align(piece, whole(piece), usual).events


def _right_keys(performance: Performance) -> Pairs:
    """Return the keys of a performance of the whole scene as a run in which each played its note."""
    piece = written(RIGHT, LEFT)
    table = read_written(piece, whole(piece), "both")
    strokes = [Stroke(event, table.group_of[event], "both", True) for event in range(len(piece.notes))]
    pairs = Pairs(table, Run(strokes), read_struck_keys(performance), 2 * STEP_MS)
    for event, note in enumerate(
        sorted(range(len(piece.notes)), key=lambda n: (table.onset_of[n], table.key_of[n]))
    ):
        pairs.take(event, note)
    return pairs


ALL_RIGHT = BOTH_MISSED.replace("| E4 A4", "| G4+C4 A4")


def test_keys_that_were_never_let_go_tell_nothing() -> None:
    """No share is known of such a player, and no note costs more than another."""
    piece = written(RIGHT, LEFT)
    performance = with_lengths(piece, ALL_RIGHT, 1.0)
    never = Performance(tuple(replace(note, release_ms=None) for note in performance.notes))
    pairs = _right_keys(never)
    assert usual_shares([pairs]) == {}
    known = Held(pairs, pairs.time_line(), {"right": HeldShare(0.0, 0.25), "left": HeldShare(0.0, 0.25)})
    assert {known.cost(0, note) for note in range(len(piece.notes))} == {0.0}


def test_a_length_that_suits_saves_and_none_costs_more_than_the_most() -> None:
    """What is put right may be let go early, for nothing; both may not be held for ever."""
    piece = written(RIGHT, LEFT)
    pairs = _right_keys(with_lengths(piece, ALL_RIGHT, 1.0))
    held = Held(pairs, pairs.time_line(), usual_shares([pairs]))
    half = next(event for event, note in pairs.played.items() if pairs.written.notes[note].id == "l4")
    eighth = next(event for event, note in pairs.played.items() if pairs.written.notes[note].id == "r4")
    its_half, its_eighth = pairs.played[half], pairs.played[eighth]
    assert held.cost(half, its_half) < 0.0 < held.cost(half, its_eighth) <= MOST_LENGTH
    assert held.cost(eighth, its_eighth) < 0.0 < held.cost(eighth, its_half) <= MOST_LENGTH
    assert held.cost_put_right(eighth, its_half) == 0.0 < held.cost_put_right(half, its_eighth) == MOST_LENGTH


def test_lengths_that_vary_widely_tell_little() -> None:
    """A piano that lets every key go after one time says less of what was meant than one that tells the truth."""
    piece = written(RIGHT, LEFT)
    told = with_lengths(piece, ALL_RIGHT, 1.0)
    ragged = Performance(
        tuple(
            replace(note, release_ms=note.onset_ms + (80.0, 300.0, 900.0)[note.event % 3]) for note in told.notes
        )
    )
    true, vague = (usual_shares([_right_keys(performance)]) for performance in (told, ragged))
    assert vague["right"].spread > 3 * true["right"].spread
