"""The follower: what was that key, and what comes next? Stated by hand, and held to the shared table."""

from __future__ import annotations

import json

import pytest

from counterpane.listening.events import NOTE_ON
from counterpane.listening.following import begin, follow, line_of, prepare
from counterpane.model.practice import Passage
from counterpane.units import pitch_from_name
from demo.simulation import FAULT_KINDS, simulate
from tests.listening.composer import compose
from tests.listening.following_vectors import TABLE, answers, make_table, two_hands

MEASURE_STARTS = [0.0, 4.0, 8.0, 12.0]


def followed(text: str) -> list[str]:
    """Return for each key the note it played ("-" for none) and what is next in the right and the left hand."""
    keys = [pitch_from_name(name).midi for name in text.split()]
    said = answers(prepare(two_hands(), MEASURE_STARTS), keys)
    return [f"{each['note'] or '-'} > {each['next_right']} {each['next_left']}" for each in said]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("C5 C3 D5", ["r0 > r1 l0", "l0 > r1 l2", "r1 > r2 l2"]),
        ("C3 C5 D5", ["l0 > r0 l2", "r0 > r1 l2", "r1 > r2 l2"]),
        ("C5 C3 C#5 D5", ["r0 > r1 l0", "l0 > r1 l2", "- > r1 l2", "r1 > r2 l2"]),  # wrong, then right
        ("C5 C3 E5 E3", ["r0 > r1 l0", "l0 > r1 l2", "r2 > r3 l2", "l2 > r3 l4"]),  # D5 left out
        ("C5 C3 D5 Bb2 E5", ["r0 > r1 l0", "l0 > r1 l2", "r1 > r2 l2", "- > r2 l2", "r2 > r3 l2"]),  # added
    ],
)
def test_each_key_leads_to_the_next_notes(text: str, expected: list[str]) -> None:
    """Both hands in either order, a wrong key, a note left out, a key added."""
    assert expected == followed(text)


def test_a_jump_is_followed_within_four_right_keys() -> None:
    """From the middle of the second measure back to the start, and from the first measure on to the third."""
    first = "C5 C3 D5 E5 E3 F5 G5 G3 A5 B5 E3 C6"
    assert followed(f"{first} B5 G3 A5 C5 C3 D5 E5")[-1] == "r2 > r3 l2"
    assert followed(f"{first} C5 C3 E5 G5")[-1] == "r18 > r19 l18"


def test_the_table_is_what_the_follower_answers() -> None:
    """The table was made by this follower; whoever changes one changes the other (see following_vectors)."""
    table = json.loads(TABLE.read_text(encoding="utf-8"))
    assert len(table["cases"]) > 20
    assert table == json.loads(json.dumps(make_table()))


@pytest.mark.parametrize(
    ("kind", "share"), [("clean", 1.0), ("wrong", 0.99), ("one hand", 0.99), ("restarts", 0.95), ("mixed", 0.9)]
)
def test_most_right_keys_are_known_at_once(kind: str, share: float) -> None:
    """Causal following of simulated sessions: the note is named while it sounds, jumps included."""
    right = total = 0
    for seed in range(5):
        piece, passage = compose(seed + 30, 8), Passage(1, 8, "both", 80.0)
        session = simulate(piece, passage, seed, FAULT_KINDS[kind])
        line = line_of(piece, passage)
        state = begin(line)
        keys = [key for _, status, key, _ in session.raw if status == NOTE_ON]
        for key, truth in zip(keys, session.events, strict=True):
            state, answer = follow(line, state, key)
            if truth.status in ("as_written", "abandoned") and not truth.ornament:
                total += 1
                right += answer.note in (truth.note, *truth.others)
    assert right >= share * total


@pytest.mark.parametrize("kind", ["restarts", "repeats", "going back", "skips"])
def test_after_a_jump_the_place_is_found_again(kind: str) -> None:
    """Within four right keys of a jump, where the music there is not the same as elsewhere (nine jumps in ten)."""
    needed = []
    for seed in range(8):
        piece, passage = compose(seed + 60, 10), Passage(1, 10, "both", 80.0)
        session = simulate(piece, passage, seed, FAULT_KINDS[kind])
        line = line_of(piece, passage)
        state, waited = begin(line), None
        jumps = {jump.event for jump in session.jumps}
        keys = [key for _, status, key, _ in session.raw if status == NOTE_ON]
        for key, truth in zip(keys, session.events, strict=True):
            state, answer = follow(line, state, key)
            waited = 0 if truth.event in jumps else waited
            if waited is not None and truth.status != "added" and not truth.ornament:
                waited += 1
                if answer.note in (truth.note, *truth.others):
                    needed.append(waited)
                    waited = None
    assert len(needed) >= 8
    assert sum(count <= 4 for count in needed) >= 0.9 * len(needed)
