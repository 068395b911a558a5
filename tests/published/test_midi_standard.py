"""Facts of MIDI 1.0 and Standard MIDI Files 1.0 (MIDI Association), as our reader keeps them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.score import read_score_bytes
from counterpane.units import microseconds_to_tempo, pitch_from_name, pitch_name
from tests.score.midi_bytes import midi_file, variable_length


def _chunk(hexadecimal: str) -> bytes:
    body = bytes.fromhex(hexadecimal)
    return b"MTrk" + len(body).to_bytes(4, "big") + body


def _heard(*tracks: str, ticks: int = 96) -> list[tuple[Fraction, Fraction, int]]:
    data = midi_file(*(_chunk(track) for track in tracks), ticks=ticks)
    return [(note.onset, note.duration, note.midi) for note in read_score_bytes(data, "standard.mid").piece.notes]


def test_middle_c_is_note_60() -> None:
    """MIDI 1.0: middle C is 60; MIDI Tuning: the A above it, 440 Hz, is 69."""
    assert pitch_from_name("C4").midi == 60
    assert pitch_from_name("A4").midi == 69


def test_a_note_on_with_velocity_0_is_a_note_off() -> None:
    """MIDI 1.0, channel voice messages: 90 3C 00 ends the note that 90 3C 40 began."""
    assert _heard("00 90 3C 40  60 90 3C 00  00 FF 2F 00") == [(0, 1, 60)]


def test_running_status_leaves_the_status_byte_out() -> None:
    """MIDI 1.0: while the status stays the same it need not be sent again."""
    full = _heard("00 90 3C 40  60 90 3C 00  00 90 3E 40  60 90 3E 00  00 FF 2F 00")
    running = _heard("00 90 3C 40  60 3C 00  00 3E 40  60 3E 00  00 FF 2F 00")
    assert [(0, 1, 60), (1, 1, 62)] == full == running


def test_controllers_and_programs_between_notes_are_passed_over() -> None:
    """Two data bytes for B0 and E0, one for C0 and D0."""
    track = "00 C0 00  00 B0 40 7F  00 90 3C 40  30 D0 10  00 E0 00 40  30 80 3C 40  00 FF 2F 00"
    assert _heard(track) == [(0, 1, 60)]


def test_the_first_example_of_variable_length_quantities() -> None:
    """Standard MIDI Files 1.0, table of examples: 00, 40, 7F; 81 00; C0 00; FF 7F; 81 80 00; FF FF FF 7F."""
    table = {0: "00", 0x40: "40", 0x7F: "7F", 0x80: "81 00", 0x2000: "C0 00", 0x3FFF: "FF 7F", 0x4000: "81 80 00",
             0x0FFFFFFF: "FF FF FF 7F"}  # fmt: skip
    assert {number: bytes.fromhex(code) for number, code in table.items()} == {
        n: variable_length(n) for n in table
    }


def test_a_delta_time_of_two_bytes_is_read() -> None:
    """81 40 is 192 ticks: two quarters at 96 ticks a quarter."""
    assert _heard("00 90 3C 40  81 40 80 3C 40  00 FF 2F 00") == [(0, 2, 60)]


def test_the_specifications_example_file_in_format_1() -> None:
    """Standard MIDI Files 1.0, appendix: 4/4 at 120, 96 ticks; E5 from beat 3, G4 from beat 2, C3 and C4 held.

    The example plays on three channels of General MIDI programs 5, 46 and 70; here their programs are left out,
    since a band is refused. Ends at 4 quarters.
    """
    heard = _heard(
        "00 FF 58 04 04 02 18 08  00 FF 51 03 07 A1 20  83 00 FF 2F 00",
        "81 40 90 4C 20  81 40 4C 00  00 FF 2F 00",
        "60 91 43 40  82 20 43 00  00 FF 2F 00",
        "00 92 30 60  00 3C 60  83 00 30 00  00 3C 00  00 FF 2F 00",
    )
    assert {(2, 2, 76), (1, 3, 67), (0, 4, 48), (0, 4, 60)} == set(heard)


@pytest.mark.parametrize(("microseconds", "tempo"), [(500_000, 120.0), (1_000_000, 60.0), (428_571, 140.0)])
def test_tempo_is_microseconds_a_quarter(microseconds: int, tempo: float) -> None:
    """FF 51 03: 07 A1 20 is 500,000 microseconds a quarter, 120 quarters a minute."""
    assert tempo == pytest.approx(microseconds_to_tempo(microseconds), abs=0.001)


def test_unknown_chunks_are_passed_over() -> None:
    """Standard MIDI Files 1.0: chunks of other kinds are to be treated as if they were not there."""
    body = _chunk("00 90 3C 40  60 80 3C 40  00 FF 2F 00")
    alien = b"XFIH" + (5).to_bytes(4, "big") + b"hello"
    data = midi_file(body, ticks=96)
    piece = read_score_bytes(data[:14] + alien + data[14:], "standard.mid").piece
    assert [pitch_name(note.pitch) for note in piece.notes] == ["C4"]
