"""What a simulated session is: events, the truth about each, faults and jumps as data."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import mido

TrueStatus = Literal["as_written", "replacement", "added", "abandoned"]
RawEvent = tuple[float, int, int, int]


@dataclass(frozen=True, slots=True)
class TrueEvent:
    """What a struck key truly was. `note` is the note it played or stood for; `ornament` marks extra keys of one.

    `others` are written notes that the same stroke plays as well: a unison of both hands.
    """

    event: int
    status: TrueStatus
    note: str | None
    run: int
    ornament: bool = False
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: its kind, the note it concerns, the event where it shows, and its size where it has one."""

    kind: str
    note: str | None
    event: int | None
    size: float = 0.0


@dataclass(frozen=True, slots=True)
class TrueJump:
    """Before `event` the student went from one onset to another (in quarters)."""

    event: int
    origin: float
    target: float


@dataclass(frozen=True)
class Session:
    """Key events in time order as `(time_ms, status, data1, data2)`, and the truth about them."""

    raw: tuple[RawEvent, ...]
    events: tuple[TrueEvent, ...]
    faults: tuple[Fault, ...]
    jumps: tuple[TrueJump, ...]

    def write_midi(self, path: Path) -> None:
        """Write the session as a MIDI file with one tick a millisecond."""
        file = mido.MidiFile(type=0, ticks_per_beat=500)
        track = mido.MidiTrack()
        file.tracks.append(track)
        now = 0
        for time_ms, *message in self.raw:
            tick = max(now, round(time_ms))
            track.append(mido.Message.from_bytes(message, time=tick - now))
            now = tick
        file.save(path)
