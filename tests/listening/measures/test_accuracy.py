"""Accuracy: shares of the reached part and of the whole, first try and last."""

from dataclasses import replace

import pytest

from counterpane.listening.measures.accuracy import accuracy
from tests.listening.measures.playing import Key, heard_from, piece_of, play

LINE = "C4:1 D4:1 E4:1 F4:1 " * 5


def test_shares_over_the_reached_part_and_overall() -> None:
    """Of 20 notes 16 are reached; one is replaced and one left out: 14 of 16 here, 14 of 20 overall."""
    piece = piece_of(LINE)
    keys = [key for key in play(piece) if str(key.note) not in ("r5", "r16", "r17", "r18", "r19")]
    keys = [replace(key, midi=70, status="replacement") if key.note == "r9" else key for key in keys]
    found = accuracy(heard_from(piece, [*keys, Key(None, 3100, 80, 90, status="added")]))
    assert found["value"] == pytest.approx(14 / 16)
    assert found["overall"] == pytest.approx(14 / 20)
    assert (found["replaced"], found["left_out"], found["not_reached"], found["added"]) == (1, 1, 4, 1)


def test_a_note_put_right_is_right_but_not_at_the_first_try() -> None:
    """The wrong key first, then the right one: played, and counted against the first try."""
    piece = piece_of(LINE)
    wrong = Key("r7", 7600, 200, 70, status="replacement")
    found = accuracy(heard_from(piece, [*play(piece), wrong]))
    assert found["value"] == 1
    assert found["first_try"] == pytest.approx(19 / 20)


def test_nothing_played_has_no_accuracy() -> None:
    """No key struck: no share, and the number of notes that were waiting."""
    piece = piece_of(LINE)
    found = accuracy(heard_from(piece, []))
    assert found["value"] is None
    assert found["not_reached"] == 20
