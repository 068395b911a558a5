"""Key events against the MIDI 1.0 standard.

Source: *The Complete MIDI 1.0 Detailed Specification* (MIDI Manufacturers Association) and its part *Standard MIDI
Files 1.0*; the example file is the format 0 one printed there, its bytes and the figures below quoted from memory.
"""

from __future__ import annotations

import pytest

from counterpane.listening.alignment import align
from counterpane.listening.events import performance_from_raw
from counterpane.listening.midi_file import read_performance_bytes
from counterpane.model.practice import Passage
from tests.listening.scenes import said, written

EXAMPLE_FILE = bytes.fromhex(
    "4D546864 00000006 0000 0001 0060"  # header: format 0, one track, 96 ticks a quarter
    "4D54726B 0000003B"
    "00 FF5804 04021808"  # 4/4
    "00 FF5103 07A120"  # 500,000 microseconds a quarter
    "00 C005 00 C12E 00 C246"  # three programs
    "00 92 3060"  # channel 3, C3 forte
    "00 3C60"  # running status: C4 forte
    "60 91 4340"  # channel 2, G4
    "60 90 4C40"  # channel 1, E5
    "8140 82 3040"  # two bytes of delta time
    "00 3C40 00 81 4340 00 80 4C40"
    "00 FF2F00"
)


def test_the_example_file_of_the_standard() -> None:
    """Running status, channels, and a two-byte delta time: four notes, half a second apart, ended together."""
    notes = read_performance_bytes(EXAMPLE_FILE, "example.mid").notes
    expected = [(48, 0, 2000, 96), (60, 0, 2000, 96), (67, 500, 2000, 64), (76, 1000, 2000, 64)]
    assert [(note.midi, note.onset_ms, note.release_ms, note.velocity) for note in notes] == expected


@pytest.mark.parametrize(("velocity", "held"), [(0, False), (1, True), (127, True)])
def test_note_on_with_velocity_0_is_a_note_off(velocity: int, held: bool) -> None:
    """Detailed Specification, "Note-On Velocity": a velocity of 0 is equivalent to a note-off."""
    performance = performance_from_raw([(0, 0x90, 60, 64), (100, 0x90, 60, velocity)])
    assert (len(performance.notes) == 2) == held


def test_notes_struck_together_arrive_a_millisecond_apart_and_are_together() -> None:
    """31,250 baud, ten bits a byte: three bytes take 0.96 ms, so that a chord of five spreads over 4 ms."""
    byte_ms = 10 / 31_250 * 1000
    raw = [(n * 3 * byte_ms, 0x90, key, 64) for n, key in enumerate((48, 72, 55, 76, 79))]
    assert raw[-1][0] == pytest.approx(3.84)
    chord = written("C5+E5+G5 . . . . . . .", "C3+G3 . . . . . . .")
    alignment = align(chord, Passage(1, 1, "both", 60), performance_from_raw(raw))
    assert said(alignment) == "=l0 =r0 =l0a =r0a =r0b"
