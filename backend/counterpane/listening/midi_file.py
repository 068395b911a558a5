"""MIDI files as performances: all tracks merged, ticks turned into milliseconds by the tempo map.

Source: Standard MIDI Files 1.0 (formats 0, 1 and 2; metrical and SMPTE division; set-tempo meta events,
120 quarters a minute until the first). Running status and tracks are read by mido.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from io import BytesIO
from itertools import accumulate
from pathlib import Path

import mido

from counterpane.errors import PerformanceError
from counterpane.listening.events import TrackedEvent, performance_from_streams
from counterpane.model.performance import Performance

DEFAULT_TEMPO_US = 500_000
"""Microseconds a quarter note where the file says nothing (Standard MIDI Files 1.0)."""

DROP_FRAMES_A_SECOND = 30_000 / 1001
"""What the SMPTE format 29 stands for: 30 drop frame, 29.97 frames a second (MIDI 1.0, MIDI Time Code)."""

MAX_BYTES = 8_000_000


def read_performance(path: Path) -> Performance:
    """Read a MIDI file as a performance; raises `PerformanceError` with one sentence when it cannot be."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise PerformanceError(
                f"the file is larger than {MAX_BYTES // 1_000_000} MB; cut it into attempts", file=path.name
            )
        data = path.read_bytes()
    except OSError as error:
        raise PerformanceError(
            f"the file cannot be opened ({error.strerror}); check its name", file=path.name
        ) from error
    return read_performance_bytes(data, path.name)


def read_performance_bytes(data: bytes, name: str) -> Performance:
    """Read the bytes of a MIDI file called `name`; raises `PerformanceError`."""
    if data[:4] != b"MThd":
        what = "the file is empty" if not data else "this is not a MIDI file"
        raise PerformanceError(f"{what}; give a recording saved as a MIDI file (.mid)", file=name)
    try:
        midi = mido.MidiFile(file=BytesIO(data), clip=True)
    except (
        Exception
    ) as error:  # mido lets whatever a damaged byte causes through: EOFError, ValueError, KeyError ...
        raise PerformanceError(
            "the MIDI file is damaged or cut off; save or export it again", file=name
        ) from error
    to_ms = _clock(midi)
    try:
        events = sorted(_tracked_events(midi, to_ms), key=lambda event: event.time_ms)
        return performance_from_streams(events)
    except PerformanceError as error:
        raise PerformanceError(error.message, file=name) from error


def _tracked_events(midi: mido.MidiFile, to_ms: Callable[[int], float]) -> list[TrackedEvent]:
    events = []
    for stream, track in enumerate(midi.tracks):
        tick = 0
        for message in track:
            tick += message.time
            if message.type in ("note_on", "note_off", "control_change"):
                status, data1, data2 = message.bytes()
                events.append(TrackedEvent(to_ms(tick), status, data1, data2, stream))
    return events


def _clock(midi: mido.MidiFile) -> Callable[[int], float]:
    """Return the function from ticks to milliseconds."""
    division = int(midi.ticks_per_beat)
    if division < 0:  # SMPTE: the upper byte is minus the frames a second, the lower one the ticks a frame
        frames, ticks = -(division >> 8), division & 0xFF
        a_second = DROP_FRAMES_A_SECOND if frames == 29 else frames
        return lambda tick: tick * 1000.0 / (a_second * max(1, ticks))
    division = max(1, division)
    starts, tempos = _tempo_map(midi)
    lengths = [(later - start) * tempo for start, later, tempo in zip(starts, starts[1:], tempos, strict=False)]
    passed = [0, *accumulate(lengths)]

    def to_ms(tick: int) -> float:
        segment = bisect_right(starts, tick) - 1
        return (passed[segment] + (tick - starts[segment]) * tempos[segment]) / division / 1000.0

    return to_ms


def _tempo_map(midi: mido.MidiFile) -> tuple[list[int], list[int]]:
    """Return the ticks where a tempo begins and the tempos, in microseconds a quarter note."""
    changes = {0: DEFAULT_TEMPO_US}
    for track in midi.tracks:
        tick = 0
        for message in track:
            tick += message.time
            if message.type == "set_tempo" and message.tempo > 0:
                changes[tick] = message.tempo
    starts = sorted(changes)
    return starts, [changes[start] for start in starts]
