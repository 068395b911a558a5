"""The chunks of a Standard MIDI File 1.0: its header, and the events of each track as they stand in the file.

music21's `MidiFile` stops at chunks of other kinds, trusts the number of tracks in the header, takes a track that
is cut off for a whole one, and mistakes film frames for ticks; so what it is given is laid out here.
"""

from __future__ import annotations

from dataclasses import dataclass

from counterpane.errors import UnreadableScore, UnsuitableScore


@dataclass(frozen=True)
class Chunks:
    """Ticks a quarter note, and for each track the bytes of its events."""

    ticks_per_quarter: int
    tracks: tuple[bytes, ...]


def read_chunks(data: bytes, name: str) -> Chunks:
    """Lay out a MIDI file, or one inside RIFF. Raises `UnreadableScore` or `UnsuitableScore`."""
    data = data[data.find(b"MThd") :]
    length = int.from_bytes(data[4:8], "big")
    if length < 6 or len(data) < 14:
        raise damaged("its header is cut off", name)
    division = int.from_bytes(data[12:14], "big")
    if division & 0x8000:
        raise UnsuitableScore(
            "the MIDI file counts time in film frames, not in beats; export it again with ticks a quarter.",
            file=name,
        )
    if division == 0:
        raise damaged("its header says 0 ticks a quarter note", name)
    if int.from_bytes(data[8:10], "big") == 2:
        raise UnsuitableScore(
            "the MIDI file holds several independent patterns (format 2); export it again as format 1.", file=name
        )
    tracks = _tracks(data, 8 + length, name)
    if not tracks:
        raise damaged("it holds no track", name)
    return Chunks(division, tracks)


def damaged(what: str, name: str) -> UnreadableScore:
    """Make the error for a damaged file."""
    return UnreadableScore(f"the MIDI file is damaged: {what}; export or copy it again.", file=name)


def damaged_track(track: int, name: str) -> UnreadableScore:
    """Make the error for a track, counted from 1, whose bytes make no sense."""
    return damaged(f"track {track} breaks off inside a message", name)


def _tracks(data: bytes, at: int, name: str) -> tuple[bytes, ...]:
    tracks: list[bytes] = []
    while at + 8 <= len(data):
        size = int.from_bytes(data[at + 4 : at + 8], "big")
        body = data[at + 8 : at + 8 + size]
        if data[at : at + 4] == b"MTrk":
            if len(body) < size:
                raise damaged(f"track {len(tracks) + 1} is cut off", name)
            tracks.append(body)
        at += 8 + size
    return tuple(tracks)
