"""A note struck once more after a pause, before playing goes on: no wrong key, and no key too many."""

from __future__ import annotations

from dataclasses import replace

import pytest

from counterpane.listening.alignment import align
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.restruck import restruck_notes
from counterpane.listening.alignment.runs import Run, Stroke
from counterpane.listening.alignment.struck_keys import read_struck_keys
from counterpane.listening.alignment.written import read_written
from counterpane.model.performance import Performance
from tests.listening.scenes import heard, played, said, whole, written

SCENES = {
    "taken again after a pause": (
        "C5+C3 D5 E5+E3 F5 ~F5 G5+G3 A5",
        "=l0 =r0 =r1 =l2 =r2 ?r3 =r3 =l4 =r4 =r5",
    ),
    "three times in a row": (
        "C5+C3 D5 E5+E3 F5 ~F5 F5 G5+G3 A5",
        "=l0 =r0 =r1 =l2 =r2 ?r3 ?r3 =r3 =l4 =r4 =r5",
    ),
    "first one hand alone, then both": (
        "C5+C3 D5 E5+E3 F5 G3 ~G5+G3 A5 B5+E3",
        "=l0 =r0 =r1 =l2 =r2 =r3 ?l4 =l4 =r4 =r5 =l6 =r6",
    ),
}


@pytest.mark.parametrize(("text", "expected"), SCENES.values(), ids=SCENES)
def test_a_note_taken_again_is_right_both_times(text: str, expected: str) -> None:
    """The stroke from which playing goes on played the note; the one before it was an abandoned start."""
    alignment = heard(written(), text)
    assert said(alignment) == expected
    assert alignment.jumps == ()


def test_a_written_repetition_is_no_note_taken_again() -> None:
    """F is written twice; with a long pause between the two strokes each of them played its own."""
    piece = written("C5 D5 E5 F5 F5 G5 A5 B5", "C3 . E3 . G3 . E3 .")
    assert said(heard(piece, "C5+C3 D5 E5+E3 F5 ~F5+G3 G5 A5+E3 B5")).split()[5:8] == ["=r3", "=l4", "=r4"]


@pytest.mark.parametrize(("pause_ms", "expected"), [(90.0, "+"), (250.0, "!r4"), (700.0, "=r3")])
def test_a_pause_tells_a_note_taken_again_from_other_slips(pause_ms: float, expected: str) -> None:
    """Eighths of 250 ms: a key that bounced was added, one in the time of the next was a slip."""
    notes = played("C5+C3 D5 E5+E3 F5 F5 G5+G3 A5 B5+E3").notes
    late = pause_ms - 250.0
    later = [replace(note, onset_ms=note.onset_ms + late) if note.event >= 6 else note for note in notes]
    alignment = align(written(), whole(written()), Performance(tuple(later)))
    assert said(alignment).split()[6] == expected


def test_of_three_strokes_the_one_in_the_middle_is_no_slip() -> None:
    """F5 when the next key was overdue, and once more: the same key twice over is no wrong one for G5."""
    notes = played("C5+C3 D5 E5+E3 F5 F5 F5 G5+G3 A5 B5+E3").notes
    late = [75.0 * min(max(note.event - 5, 0), 2) for note in notes]
    later = [replace(note, onset_ms=note.onset_ms + by) for note, by in zip(notes, late, strict=True)]
    alignment = align(written(), whole(written()), Performance(tuple(later)))
    assert said(alignment).split()[5:8] == ["?r3", "?r3", "=r3"]


@pytest.mark.parametrize(
    ("text", "right", "expected"),
    [
        ("C5 D5 ~D5 E5 F5", "C5 . D5 E5 F5", {1: "r1"}),
        ("C5 D5 ~D5 E5 F5", "C5 D5 . E5 F5", {2: "r1"}),
        ("C5 D5 ~D5 D5 E5", "C5 . . D5 E5", {1: "r1", 2: "r1"}),
        ("C5 D5 ~D5 A4 E5", "C5 D5 . . E5", {}),
        ("C5 D5 ~E5 D5 F5", "C5 D5 E5 . F5", {}),
        ("C5 D5 ~D5", "C5 D5 .", {}),
        ("C5 D5 F5 ~F5 E5", "C5 D5 F5 . E5", {}),
    ],
    ids=[
        "the second stroke played the note",
        "the first one did",
        "the last of three did",
        "another key came before playing went on",
        "another onset came between",
        "playing did not go on",
        "of the last note, and an earlier one came after it",
    ],
)
def test_other_strokes_of_a_note_are_found_before_playing_goes_on(
    text: str, right: str, expected: dict[int, str]
) -> None:
    """Keys that are known to have played their notes beside others (".") that are nothing yet."""
    piece = written("C5 D5 E5 F5", "C3 . . .")
    table = read_written(piece, whole(piece), "right")
    known = {
        event: ["C5", "D5", "E5", "F5"].index(name) for event, name in enumerate(right.split()) if name != "."
    }
    strokes = [Stroke(event, known.get(event, 0), "right", event in known) for event in range(len(text.split()))]
    pairs = Pairs(table, Run(strokes), read_struck_keys(played(text)), 500.0)
    for event, note in known.items():
        pairs.take(event, note)
    found = restruck_notes(pairs, strokes, pairs.time_line())
    assert {event: table.notes[note].id for event, (note, _) in found.items()} == expected
