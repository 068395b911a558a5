"""Raw key events become strokes with releases, numbered as the machine-readable face promises."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.listening.events import performance_from_raw

ON, OFF, CONTROL = 0x90, 0x80, 0xB0


def test_a_note_on_with_velocity_0_is_a_note_off() -> None:
    """MIDI 1.0 Detailed Specification, "Note On": velocity 0 is a note-off (running status depends on it)."""
    (note,) = performance_from_raw([(0, ON, 60, 64), (300, ON, 60, 0)]).notes
    assert note.release_ms == 300


def test_events_are_numbered_in_time_and_at_one_instant_by_pitch() -> None:
    """Design, section 11: note-ons at one tick in order of pitch, from 0."""
    raw = [(10, ON, 72, 64), (10, ON, 48, 64), (10, ON, 60, 64), (5, ON, 80, 64)]
    assert [(note.event, note.midi) for note in performance_from_raw(raw).notes] == [
        (0, 80),
        (1, 48),
        (2, 60),
        (3, 72),
    ]


@given(st.integers(0, 2**32))
def test_the_order_of_arrival_does_not_matter(seed: int) -> None:
    """Events shuffled on their way are put in order, and a sentence says so."""
    raw = [(100.0 * n, ON, 60 + n, 64) for n in range(8)] + [(100.0 * n + 50, OFF, 60 + n, 0) for n in range(8)]
    shuffled = Random(seed).sample(raw, len(raw))
    straight, mixed = performance_from_raw(sorted(raw)), performance_from_raw(shuffled)
    assert mixed.notes == straight.notes
    assert ("out of order" in " ".join(mixed.warnings)) == (shuffled != sorted(raw))


def test_a_key_struck_again_without_release_was_let_go_by_then() -> None:
    """A lost note-off ends with the next stroke of its key, which no finger can make otherwise."""
    performance = performance_from_raw([(0, ON, 60, 64), (400, ON, 60, 64), (700, OFF, 60, 0)])
    assert [note.release_ms for note in performance.notes] == [400, 700]
    assert performance.warnings == ("1 key was struck again without having been let go.",)


def test_a_stuck_key_is_said_and_kept() -> None:
    """A key that was never let go has no release, not an invented one."""
    performance = performance_from_raw([(0, ON, 60, 64), (100, ON, 64, 64), (200, OFF, 64, 0)])
    assert [note.release_ms for note in performance.notes] == [None, 200]
    assert performance.warnings == ("1 key was never let go.",)


def test_two_channels_do_not_release_each_other() -> None:
    """A split keyboard sends its halves on two channels."""
    performance = performance_from_raw(
        [(0, ON, 60, 64), (10, ON | 1, 60, 64), (50, OFF | 1, 60, 0), (90, OFF, 60, 0)]
    )
    assert [note.release_ms for note in performance.notes] == [90, 50]


def test_all_notes_off_lets_go() -> None:
    """Channel mode message 123 (MIDI 1.0) releases what its channel holds."""
    performance = performance_from_raw([(0, ON, 60, 64), (5, ON | 1, 64, 64), (100, CONTROL, 123, 0)])
    assert [note.release_ms for note in performance.notes] == [100, None]


def test_the_pedal_is_kept_as_changes() -> None:
    """Controller 64: down from 64 on (MIDI 1.0, table of controllers); repeated values say nothing new."""
    raw = [
        (0, CONTROL, 64, 127),
        (5, CONTROL, 64, 100),
        (9, CONTROL, 64, 30),
        (11, CONTROL, 64, 0),
        (20, CONTROL, 7, 99),
    ]
    assert [(change.time_ms, change.down) for change in performance_from_raw(raw).pedal] == [(0, True), (9, False)]


@pytest.mark.parametrize("raw", [[], [(0, OFF, 60, 0)], [(0, 0xFE, 0, 0)]])
def test_without_strokes_there_is_a_sentence(raw: list[tuple[float, int, int, int]]) -> None:
    """Nothing, a lone release, active sensing: an empty performance, and why."""
    performance = performance_from_raw(raw)
    assert performance.notes == ()
    assert performance.warnings == ("No key was struck.",)
