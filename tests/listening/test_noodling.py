"""A handful of keys that have nothing to do with the passage is no playing of it, wherever they come.

The pieces are composed from seeds; the keys are any about one place, in the passage's register or out of it,
between two pauses. Some of them fit somewhere by chance, so that no listener could be right every time.
"""

from __future__ import annotations

from random import Random

import pytest

from counterpane.listening.alignment import align
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.piece import Note, Piece
from tests.listening.composer import compose
from tests.listening.scenes import heard, said, whole, written

MEASURES = 10
SEEDS = range(1700, 1760)
QUARTER_MS = 600.0

FIRST = "C5+C3 D5 E5+E3 F5 G5+G3 A5 B5+E3 C6"
SECOND = "B5+G3 A5 G5+F3 F5 E5+E3 D5 C5+G3 B4"
NOODLING = "~F#4 G#3 A#2 C#6 D#4 F#4"


def test_noodling_between_two_measures_interrupts_nothing() -> None:
    """After it playing goes on where it stopped: every key of it was added, and there was no jump."""
    alignment = heard(written(), f"{FIRST} {NOODLING} ~{SECOND}")
    assert said(alignment).split()[12:20] == ["+", "+", "+", "+", "+", "+", "=l8", "=r8"]
    assert alignment.jumps == ()


def test_noodling_before_a_measure_is_begun_again_leaves_one_jump() -> None:
    """Broken off inside the second measure, some keys of no use, and that measure again."""
    alignment = heard(written(), f"{FIRST} B5+G3 A5 G5+F3 {NOODLING} ~{SECOND}")
    assert said(alignment).split()[17:25] == ["+", "+", "+", "+", "+", "+", "=l8", "=r8"]
    assert [(jump.event, jump.kind, jump.to_note) for jump in alignment.jumps] == [(23, "restart", "r8")]


def test_a_few_wrong_keys_after_a_pause_are_no_noodling() -> None:
    """Three strikes beside the right keys are wrong notes, though a pause comes before and after."""
    alignment = heard(written(), f"{FIRST} ~A#5+G3 G#5 F#5+F3 ~F5 E5+E3 D5 C5+G3 B4")
    assert said(alignment).split()[12:17] == ["=l8", "!r8", "!r9", "=l10", "!r10"]


@pytest.mark.parametrize("goes_on_from", ["the next note", "the measure", "the start", "nowhere"])
def test_noodling_of_any_keys_is_seldom_taken_for_the_passage(goes_on_from: str) -> None:
    """In most sessions no jump is invented, most of its keys are added, and the right keys are found in all."""
    outcomes = [_outcome(seed, goes_on_from) for seed in SEEDS]
    right_jumps, added, found = (sum(column) / len(outcomes) for column in zip(*outcomes, strict=True))
    assert right_jumps >= 0.9
    assert added >= 0.85
    assert found >= 0.999


def _outcome(seed: int, goes_on_from: str) -> tuple[bool, float, float]:
    """Return whether the jumps are right, and the shares of noodled keys added and of right keys found."""
    chance = Random(seed)
    piece = compose(seed, MEASURES)
    stops_at = 0 if goes_on_from == "the start" else chance.randint(8, len(piece.notes) - 8)
    while stops_at and piece.notes[stops_at].onset == piece.notes[stops_at - 1].onset:
        stops_at += 1
    begins_at = stops_at
    if goes_on_from == "the measure":
        measure = piece.measure_at(piece.notes[stops_at - 1].onset)
        begins_at = next(n for n, note in enumerate(piece.notes) if note.onset >= measure.onset)
    if goes_on_from == "nowhere":
        begins_at = len(piece.notes)
    noodled = _any_keys(piece, chance)
    alignment = align(piece, whole(piece), _performance(piece, stops_at, noodled, begins_at))
    intended = [*piece.notes[:stops_at], *[None] * len(noodled), *piece.notes[begins_at:]]
    events = list(zip(alignment.events, intended, strict=True))
    added = sum(event.status == "added" for event, note in events if note is None)
    found = sum(event.note == note.id for event, note in events if note)
    right_jumps = len(alignment.jumps) == (begins_at < stops_at)
    return right_jumps, added / len(noodled), found / (len(events) - len(noodled))


def _any_keys(piece: Piece, chance: Random) -> list[int]:
    """Return three to ten keys about one place of the keyboard."""
    keys = [note.midi for note in piece.notes]
    place = chance.choice([chance.randint(min(keys), max(keys)), min(keys) - 12, max(keys) + 12])
    return [place + chance.randint(-7, 7) for _ in range(chance.randint(3, 10))]


def _performance(piece: Piece, stops_at: int, noodled: list[int], begins_at: int) -> Performance:
    """Play up to a note, pause, noodle, pause, and play from a note to the end."""
    struck = [(_due(note), note.midi) for note in piece.notes[:stops_at]]
    now = struck[-1][0] + 1500.0 if struck else 0.0
    for key in noodled:
        struck.append((now, key))
        now += 350.0
    rest = piece.notes[begins_at:]
    struck += [(now + 1500.0 + _due(note) - _due(rest[0]), note.midi) for note in rest]
    return Performance(tuple(PlayedNote(n, time, None, key, 64) for n, (time, key) in enumerate(struck)))


def _due(note: Note) -> float:
    return QUARTER_MS * float(note.onset)
