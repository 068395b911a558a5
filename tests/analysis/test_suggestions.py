"""Suggestions: what is invited where, and what would make no sense to a player."""

from __future__ import annotations

from counterpane.analysis import analyse
from tests.analysis.test_sections import CLOSE, SUBJECT, WAIT, invention
from tests.analysis.test_sequences import moved
from tests.analysis.written import piece


def test_no_hand_is_to_be_heard_over_one_that_is_silent() -> None:
    """The left hand enters on the last note of the first statement, and that is too late to be covered."""
    second = moved(SUBJECT, -14).removeprefix("r:1/4 ")
    rests = f"r:2 {second} G3:1/4"
    right = f"{SUBJECT} G5:1 {WAIT} {SUBJECT} {WAIT} {SUBJECT} {CLOSE[0]}"
    found = analyse(piece(right, f"{rests} {moved(SUBJECT, -10)} {moved(WAIT, -10)} {CLOSE[1]}")).suggestions
    first = [one for one in found if one.kind == "balance" and one.place.offset < 2]
    assert first == []


def test_the_last_cadence_is_no_place_to_wait_for_the_next_phrase() -> None:
    """A chord that is broken after the last cadence is still the end of the piece."""
    ended = invention()
    arrivals = [one.text for one in analyse(ended).suggestions if one.kind == "arrive"]
    assert "broaden a little into the last chord" in arrivals[-1]
    broken = piece(f"{SUBJECT} {WAIT} E5:1 D5:2 B4:1 C5:1 G4:1 C5:2", "r:4 F3:1 G3:2 G2:1 C3:4")
    assert "broaden" in [one.text for one in analyse(broken).suggestions if one.kind == "arrive"][-1]
