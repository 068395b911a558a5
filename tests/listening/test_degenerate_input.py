"""Input that no one plays on purpose. Each case names the crash or the endless wait that it prevents."""

from __future__ import annotations

import math
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from counterpane.analysis import analyse
from counterpane.errors import PerformanceError
from counterpane.listening.alignment import align
from counterpane.listening.assess import assess
from counterpane.listening.events import MAX_NOTES, performance_from_raw
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.practice import Passage
from tests.listening.composer import compose
from tests.listening.scenes import heard, played, said, whole, written


def test_nothing_played_reaches_nothing() -> None:
    """No events: no division by their number."""
    alignment = align(written(), whole(written()), Performance(()))
    assert {note.status for note in alignment.notes} == {"not_reached"}
    assert alignment.warnings == ("No key was struck.",)


@pytest.mark.parametrize("text", ["C5", "C#2", "C5+C#5+D5+D#5+E5+F5+F#5+G5"])
def test_one_stroke_gets_an_answer(text: str) -> None:
    """One event: no tempo can be measured; none that is written: no path enters the passage."""
    assert len(heard(written(), text).events) == len(played(text).notes)


def test_only_wrong_keys_are_all_added() -> None:
    """A path that never enters the passage has no runs to pair."""
    assert said(heard(written(), "C#2 D#2 F#2")) == "+ + +"


def test_all_keys_at_one_instant() -> None:
    """All times equal: no gap between onsets to divide by."""
    performance = Performance(tuple(PlayedNote(n, 0.0, None, 60 + n % 24, 64) for n in range(100)))
    assert len(align(written(), whole(written()), performance).events) == 100


@pytest.mark.parametrize("missing", ["r5", "r6", "l6"])
def test_notes_left_out_at_one_instant(missing: str) -> None:
    """All times equal and a note missing near the end: no pace to divide by."""
    notes = [note for note in written().notes if float(note.onset) < 4 and note.id != missing]
    performance = Performance(tuple(PlayedNote(n, 0.0, None, note.midi, 64) for n, note in enumerate(notes)))
    assert len(align(written(), whole(written()), performance).events) == len(notes)


def test_ten_notes_a_millisecond_for_a_second() -> None:
    """A flood of keys is answered, one result for each."""
    raw = [(n / 10, 0x90, 48 + n * 7 % 40, 64) for n in range(3000)]
    performance = performance_from_raw(raw)
    assert any("faster than two hands" in warning for warning in performance.warnings)
    assert len(align(written(), whole(written()), performance).events) == 3000


def test_more_than_one_attempt_can_hold_is_refused() -> None:
    """Unbounded input ends in one sentence."""
    raw = [(float(n), 0x90, 60, 64) for n in range(MAX_NOTES + 1)]
    with pytest.raises(PerformanceError, match="more than one attempt"):
        performance_from_raw(raw)


def test_an_hour_of_going_round_is_followed_to_the_end() -> None:
    """Thousands of events need the path's blocks and checkpoints; the last pass is as good as the first."""
    piece = compose(5, 8)
    order = {note.id: place for place, note in enumerate(piece.notes)}
    once = [(float(note.onset) * 600, note.midi, note.id) for note in piece.notes]
    rounds = [(time + 25_000 * turn, key, note) for turn in range(80) for time, key, note in once]
    performance = Performance(tuple(PlayedNote(n, time, None, key, 64) for n, (time, key, _) in enumerate(rounds)))
    alignment = align(piece, Passage(1, 8, "both", 100), performance)
    right = sum(event.note == note for event, (_, _, note) in zip(alignment.events, rounds, strict=True))
    assert len(order) * 80 == len(rounds)
    assert right > 0.998 * len(rounds)


def test_a_path_in_blocks_is_the_same_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """Computing a block once more from its checkpoint leads to the same answer as keeping everything."""
    piece, chance = compose(3, 8), Random(1)
    keys = [note.midi + (chance.random() < 0.1) for note in piece.notes] * 2
    performance = Performance(tuple(PlayedNote(n, 200.0 * n, None, key, 64) for n, key in enumerate(keys)))
    at_once = align(piece, Passage(1, 8, "both", 100), performance)
    monkeypatch.setattr("counterpane.listening.alignment.path._BLOCK_CELLS", 1)
    assert at_once == align(piece, Passage(1, 8, "both", 100), performance)


@settings(max_examples=40)
@given(st.lists(st.tuples(st.floats(0, 1e5), st.integers(21, 108)), max_size=60))
def test_any_keys_get_one_result_each(strokes: list[tuple[float, int]]) -> None:
    """Whatever is struck, every event and every note is accounted for, and named notes exist."""
    piece = written()
    performance = performance_from_raw([(time, 0x90, key, 64) for time, key in strokes])
    alignment = align(piece, whole(piece), performance)
    assert [event.event for event in alignment.events] == list(range(len(strokes)))
    assert [note.note for note in alignment.notes] == [note.id for note in piece.notes]
    for event in alignment.events:
        assert (event.note is None) == (event.status == "added")
        if event.status in ("as_written", "abandoned"):
            assert event.note is not None
            assert piece.by_id[event.note].midi == performance.notes[event.event].midi - alignment.transposed_by
    for note in alignment.notes:
        assert (note.event is None) == (note.status in ("left_out", "not_reached"))


PLAYED = st.sampled_from(
    ("C5+C3 D5 E5+E3 F5 G5+G3 A5 B5+E3 C6", "B5+G3 A5 G5+F3 F5 E5+E3 D5 C5+G3 B4", "C5 E5 G5 E5")
)
STRAY = st.lists(st.sampled_from(("C2", "F#3", "D5", "A4", "~C#6", "B4")), min_size=1, max_size=6).map(" ".join)


@settings(max_examples=80)
@given(st.lists(st.tuples(st.sampled_from(("", "~")), PLAYED | STRAY), min_size=1, max_size=6))
def test_passes_and_stray_keys_in_any_order_are_heard_to_the_end(parts: list[tuple[str, str]]) -> None:
    """A key before the beginning, measures again and again, keys of something else: measures and findings come."""
    piece = written()
    text = " ".join((pause + keys).replace("~~", "~") for pause, keys in parts)
    assessment = assess(piece, analyse(piece), whole(piece), played(text))
    assert len(assessment.alignment.events) == len(played(text).notes)
    assert len(assessment.for_student) <= 3


def test_unreadable_events_are_left_out_and_counted() -> None:
    """Not-a-number times and bytes out of range come from broken pages; they must not poison the rest."""
    unreadable: list[Any] = [(math.nan, 0x90, 62, 64), (10.0, 0x90, 300, 64), (20.0, 12, 60, 0), (25.0, 0x90)]
    raw = [(0.0, 0x90, 60, 64), *unreadable, (30.0, 0x80, 60, 0)]
    performance = performance_from_raw(raw)
    assert [note.midi for note in performance.notes] == [60]
    assert performance.warnings == ("4 events could not be read and were left out.",)
