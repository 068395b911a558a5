"""MIDI files as performances: tracks, tempo maps, divisions, and files that are none."""

from __future__ import annotations

from contextlib import suppress
from io import BytesIO
from pathlib import Path

import mido
import pytest

from counterpane.errors import PerformanceError
from counterpane.listening.midi_file import read_performance, read_performance_bytes


def file_bytes(*tracks: list[mido.Message], ticks: int = 480, kind: int = 1) -> bytes:
    midi = mido.MidiFile(type=kind, ticks_per_beat=ticks)
    midi.tracks.extend(mido.MidiTrack(track) for track in tracks)
    buffer = BytesIO()
    midi.save(file=buffer)
    return buffer.getvalue()


def on(note: int, time: int) -> mido.Message:
    return mido.Message("note_on", note=note, velocity=64, time=time)


def off(note: int, time: int) -> mido.Message:
    return mido.Message("note_off", note=note, velocity=0, time=time)


def test_all_tracks_are_merged_under_one_tempo_map() -> None:
    """120 quarters a minute until the map says 60: the second quarter lasts twice as long."""
    tempo = [mido.MetaMessage("set_tempo", tempo=1_000_000, time=480)]
    right, left = [on(72, 0), off(72, 960)], [on(48, 480), off(48, 480)]
    notes = read_performance_bytes(file_bytes(tempo, right, left), "two.mid").notes
    assert [(note.midi, note.onset_ms, note.release_ms) for note in notes] == [(72, 0, 1500), (48, 500, 1500)]


def test_one_key_in_two_tracks_is_two_strokes() -> None:
    """A unison written for both hands keeps two events; each track releases its own."""
    notes = read_performance_bytes(
        file_bytes([on(60, 0), off(60, 480)], [on(60, 0), off(60, 960)]), "two.mid"
    ).notes
    assert [(note.event, note.release_ms) for note in notes] == [(0, 500), (1, 1000)]


def test_smpte_division_counts_frames() -> None:
    """Division 0xE728: 25 frames a second of 40 ticks, one tick a millisecond, whatever the tempo."""
    data = bytearray(file_bytes([on(60, 250), off(60, 250)], kind=0))
    data[12:14] = bytes([0xE7, 0x28])
    (note,) = read_performance_bytes(bytes(data), "frames.mid").notes
    assert (note.onset_ms, note.release_ms) == (250, 500)


def test_drop_frames_are_a_thousandth_slower_than_thirty() -> None:
    """SMPTE format 29 is 30 drop frame, 29.97 frames a second (MIDI 1.0, MIDI Time Code)."""
    data = bytearray(file_bytes([on(60, 2997), off(60, 2997)], kind=0))
    data[12:14] = bytes([256 - 29, 100])
    (note,) = read_performance_bytes(bytes(data), "frames.mid").notes
    assert note.onset_ms == pytest.approx(1000.0, abs=0.01)


def test_a_tempo_of_nothing_is_no_tempo() -> None:
    """A set-tempo event of 0 microseconds a quarter would put every key at one instant; it is passed over."""
    tempo = [mido.MetaMessage("set_tempo", tempo=0, time=0)]
    (note,) = read_performance_bytes(file_bytes(tempo, [on(60, 480), off(60, 480)]), "zero.mid").notes
    assert (note.onset_ms, note.release_ms) == (500, 1000)


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "the file is empty"),
        (b"<score-partwise/>", "this is not a MIDI file"),
        (b"MThd\x00\x00\x00\x06", "damaged or cut off"),
        (b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0MTrk\x00\x00\x00\x10\x00\x90", "damaged or cut off"),
    ],
)
def test_what_is_not_a_midi_file_gets_one_sentence(data: bytes, sentence: str) -> None:
    """The sentence names the file and what to do; nothing of the reading library leaks."""
    with pytest.raises(PerformanceError, match=sentence) as caught:
        read_performance_bytes(data, "take3.mid")
    assert str(caught.value).startswith("take3.mid: ")


def test_any_cut_of_a_file_is_read_or_refused() -> None:
    """Cut at every byte, a file is either still readable or refused as ours."""
    data = file_bytes([on(60, 0), off(60, 100), on(62, 0), off(62, 100)])
    for length in range(len(data)):
        with suppress(PerformanceError):
            read_performance_bytes(data[:length], "cut.mid")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """No traceback for a wrong name."""
    with pytest.raises(PerformanceError, match=r"nowhere\.mid: the file cannot be opened"):
        read_performance(tmp_path / "nowhere.mid")


def test_a_huge_file_is_refused_before_reading(tmp_path: Path) -> None:
    """Size is checked first."""
    path = tmp_path / "huge.mid"
    path.write_bytes(b"MThd" + bytes(9_000_000))
    with pytest.raises(PerformanceError, match="larger than 8 MB"):
        read_performance(path)
