"""MIDI files as bytes, written here by hand so that no MIDI library stands between a test and the standard."""

from __future__ import annotations

from collections.abc import Iterable

Event = tuple[int, bytes]
"""A tick from the track's start, and the bytes of one message."""


def variable_length(value: int) -> bytes:
    """Seven bits a byte, the highest bit set on all but the last (Standard MIDI Files 1.0)."""
    groups = [value & 0x7F]
    while value := value >> 7:
        groups.append(0x80 | (value & 0x7F))
    return bytes(reversed(groups))


def meta(kind: int, body: bytes) -> bytes:
    return bytes([0xFF, kind]) + variable_length(len(body)) + body


def meter(beats: int, power_of_two: int) -> bytes:
    return meta(0x58, bytes([beats, power_of_two, 24, 8]))


def track(events: Iterable[Event]) -> bytes:
    body, now = b"", 0
    for tick, message in sorted(events, key=lambda event: event[0]):
        body += variable_length(tick - now) + message
        now = tick
    body += variable_length(0) + meta(0x2F, b"")
    return b"MTrk" + len(body).to_bytes(4, "big") + body


def midi_file(*tracks: bytes, ticks: int = 480) -> bytes:
    head = (
        (0 if len(tracks) == 1 else 1).to_bytes(2, "big")
        + len(tracks).to_bytes(2, "big")
        + ticks.to_bytes(2, "big")
    )
    return b"MThd" + (6).to_bytes(4, "big") + head + b"".join(tracks)


def notes(*played: tuple[float, float, int], ticks: int = 480, channel: int = 0) -> list[Event]:
    """Note-ons and note-offs for (onset, end, MIDI number), in quarters; an end before an onset at one tick."""
    ends = [(round(end * ticks), bytes([0x80 | channel, midi, 64])) for _, end, midi in played]
    starts = [(round(onset * ticks), bytes([0x90 | channel, midi, 64])) for onset, _, midi in played]
    return ends + starts
