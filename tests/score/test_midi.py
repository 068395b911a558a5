"""MIDI files become notation: exact times, good spelling, hands, measures, ties over barlines."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from counterpane.model.piece import Piece
from counterpane.score import engrave, read_score_bytes
from counterpane.units import pitch_name
from tests.score.midi_bytes import meta, meter, midi_file, notes, track


def _read(*tracks: bytes, ticks: int = 480) -> Piece:
    return read_score_bytes(midi_file(*tracks, ticks=ticks), "piece.mid").piece


def _line(*played: tuple[float, float, int], ticks: int = 480) -> Piece:
    return _read(track(notes(*played, ticks=ticks)), ticks=ticks)


@pytest.mark.parametrize("ticks", [24, 96, 120, 384, 480, 960, 10080])
@pytest.mark.parametrize("parts", [1, 2, 3, 4, 5, 6, 7, 8])
def test_notes_on_a_grid_are_read_exactly(ticks: int, parts: int) -> None:
    """A quarter in any number of equal parts, at the usual resolutions, within the rounding of ticks."""
    length = Fraction(1, parts)
    if ticks < 48 and parts in {5, 7}:
        length = Fraction(1, 2)  # 24 ticks cannot tell fives and sevens from other grids
    played = [(float(i * length), float((i + 1) * length), 60 + i) for i in range(int(1 / length))]
    piece = _line(*played, (1, 2, 72), ticks=ticks)
    expected = [(i * length, length) for i in range(int(1 / length))] + [(1, 1)]
    assert expected == [(note.onset, note.duration) for note in piece.notes]


@given(st.lists(st.integers(1, 8), min_size=1, max_size=24), st.integers(0, 2**32))
@settings(max_examples=40)
def test_any_rhythm_in_sixteenths_comes_back(lengths: list[int], seed: int) -> None:
    """Values of one to eight sixteenths in a row, over barlines and beats: tied in print, whole in the piece."""
    rng = random.Random(seed)
    onset, played = Fraction(0), []
    for length in lengths:
        played.append((onset, onset + Fraction(length, 4), rng.randrange(60, 80)))
        onset += Fraction(length, 4)
    piece = _line(*((float(a), float(b), midi) for a, b, midi in played))
    assert [(a, b - a, midi) for a, b, midi in played] == [(n.onset, n.duration, n.midi) for n in piece.notes]


def test_a_recording_is_brought_to_the_nearest_plain_rhythm() -> None:
    """Onsets up to 25 ms off at 120 and keys let go early: eighths stay eighths and join up."""
    rng = random.Random(7)
    played = []
    for i in range(32):
        onset = max(0.0, i / 2 + rng.uniform(-0.05, 0.05))
        played.append((onset, onset + 0.45, 60 + (i * 7) % 12))
    piece = _line(*played)
    assert [Fraction(i, 2) for i in range(32)] == [note.onset for note in piece.notes]
    assert {Fraction(1, 2)} == {note.duration for note in piece.notes[:-1]}


def test_played_triplets_are_told_from_sixteenths() -> None:
    """Three even notes in a quarter, none of them exact."""
    rng = random.Random(3)
    played = []
    for i in range(24):
        onset = max(0.0, i / 3 + rng.uniform(-0.03, 0.03))
        played.append((onset, onset + 0.3, 60 + i % 5))
    assert [Fraction(i, 3) for i in range(24)] == [note.onset for note in _line(*played).notes]


def test_meter_and_key_events_are_taken_over() -> None:
    """Two meters and a key of three flats, in minor."""
    head = [
        (0, meter(3, 2)),
        (3 * 480, meter(6, 3)),
        (0, meta(0x59, b"\xfd\x01")),
        (0, meta(0x51, b"\x0a\x2c\x2b")),
    ]
    piece = _read(track(head + notes((0, 3, 60), (3, 6, 63))))
    assert [(measure.beats, measure.beat_unit) for measure in piece.measures] == [(3, 4), (6, 8)]
    assert (piece.key_signatures[0].fifths, piece.key_signatures[0].mode) == (-3, "minor")
    assert pytest.approx(piece.tempo, abs=0.001) == 90


def test_two_tracks_are_the_hands_whatever_their_order() -> None:
    """The higher one is the right hand's, and that is no guess."""
    low, high = track(notes((0, 4, 48))), track(notes((0, 4, 72)))
    for tracks in ((low, high), (high, low)):
        piece = _read(*tracks)
        assert {(48, "left"), (72, "right")} == {(note.midi, note.hand) for note in piece.notes}
        assert not piece.hands_guessed


def test_three_tracks_are_voices() -> None:
    """One staff each, given to the hands by register."""
    piece = _read(*(track(notes((0, 4, midi))) for midi in (48, 72, 67)))
    assert {(72, 1, "right"), (67, 2, "right"), (48, 3, "left")} == {
        (n.midi, n.voice, n.hand) for n in piece.notes
    }
    assert piece.hands_guessed


def test_overlapping_notes_in_one_hand_become_voices() -> None:
    """A held note under moving ones is a layer of its own."""
    right = track(notes((0, 4, 60), (0, 1, 72), (1, 2, 74), (2, 4, 76)))
    piece = _read(right, track(notes((0, 4, 40))))
    voices = {note.midi: note.voice for note in piece.notes}
    assert voices[72] == voices[74] == voices[76] == 1
    assert (voices[60], voices[40]) == (2, 3)


def test_the_notation_of_a_midi_file_can_be_engraved() -> None:
    """Triplets, ties over the barline, rests and two layers give an SVG with every note."""
    third = 1 / 3
    right = track(notes((0, third, 72), (third, 2 * third, 74), (2 * third, 1, 76), (3, 5, 77), (3, 4, 69)))
    document = read_score_bytes(midi_file(right, track(notes((0.5, 4.25, 50)))), "piece.mid")
    svg = "".join(engrave(document).svgs)
    assert all(f'id="{head}"' in svg for note in document.piece.notes for head in note.heads)
    assert 'class="tuplet"' in svg


def test_a_note_never_released_ends_with_its_track() -> None:
    """A missing note-off is no reason to refuse a file."""
    events = [(0, bytes([0x90, 60, 64])), (960, bytes([0x90, 62, 64])), (1920, bytes([0x80, 62, 0]))]
    piece = _read(track(events))
    assert {(60, 4), (62, 2)} == {(note.midi, note.duration) for note in piece.notes}


def test_spelling_is_in_the_key() -> None:
    """C sharp in D minor, B flat in F major: never D flat and A sharp."""
    minor = _line(*((i, i + 1, midi) for i, midi in enumerate([62, 64, 65, 67, 69, 70, 73, 74])))
    assert [pitch_name(note.pitch) for note in minor.notes] == ["D4", "E4", "F4", "G4", "A4", "Bb4", "C#5", "D5"]


def test_two_kinds_of_tuplet_in_one_quarter_are_brought_to_places_that_can_be_written() -> None:
    """What no notation shows comes near, and nothing is lost."""
    played = [(0, 0.2, 60), (0.2, 1 / 3, 62), (1 / 3, 1, 64), (1, 2, 65)]
    piece = _line(*played)
    assert [note.midi for note in piece.notes] == [60, 62, 64, 65]
    assert all(abs(float(n.onset) - p[0]) < 0.04 for n, p in zip(piece.notes, played, strict=True))
