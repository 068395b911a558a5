"""The notes of a Standard MIDI File in ticks, and what the file says of writing them, read by music21."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from counterpane.score import limits
from counterpane.score.midi.chunks import Chunks, damaged_track, read_chunks
from counterpane.score.refusals import too_large, too_many_notes

_PERCUSSION_CHANNEL = 10
_ONE_DATA_BYTE = {"PROGRAM_CHANGE", "CHANNEL_KEY_PRESSURE"}
_STATUS, _SYSTEM = 0x80, 0xF0
"""Bytes from which on a message begins, and is a meta or system exclusive one."""
_LONGEST_WAIT = 0x0FFFFFFF
"""The most ticks between two events (Standard MIDI Files 1.0: four bytes of seven bits)."""


@dataclass(frozen=True, slots=True)
class TickNote:
    """One note in ticks. `part` is its track and channel."""

    start: int
    end: int
    midi: int
    part: tuple[int, int]


@dataclass(frozen=True)
class TickFile:
    """A MIDI file: notes in time order, and the events that say how to write them, as (tick, value).

    `keys` are (sharps, is minor); `tempos` microseconds a quarter; `programs` are by part.
    """

    ticks_per_quarter: int
    notes: tuple[TickNote, ...]
    percussion: int
    meters: tuple[tuple[int, tuple[int, int]], ...]
    keys: tuple[tuple[int, tuple[int, bool]], ...]
    tempos: tuple[tuple[int, int], ...]
    title: str
    programs: dict[tuple[int, int], int]


def read_events(data: bytes, name: str) -> TickFile:
    """Read a MIDI file. Raises `UnreadableScore` when it is damaged, with the track, and `UnsuitableScore`."""
    if len(data) > limits.MIDI_BYTES:
        raise too_large("the MIDI file has", limits.MIDI_BYTES, name)
    chunks = read_chunks(data, name)
    collected = _Collected(name)
    for track, body in enumerate(chunks.tracks, 1):
        _Track(collected, track).read(body)
    return collected.as_file(chunks)


class _Collected:
    """What the tracks hold together."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.notes: list[TickNote] = []
        self.percussion = 0
        self.meters: dict[int, tuple[int, int]] = {}
        self.keys: dict[int, tuple[int, bool]] = {}
        self.tempos: dict[int, int] = {}
        self.names: dict[int, str] = {}
        self.programs: dict[tuple[int, int], int] = {}

    def as_file(self, chunks: Chunks) -> TickFile:
        """Return it all, sorted."""
        return TickFile(
            chunks.ticks_per_quarter,
            tuple(sorted(self.notes, key=lambda note: (note.start, note.midi, note.end, note.part))),
            self.percussion,
            tuple(sorted(self.meters.items())),
            tuple(sorted(self.keys.items())),
            tuple(sorted(self.tempos.items())),
            self._title(),
            self.programs,
        )

    def _title(self) -> str:
        """Return the name of the first track: the piece's, unless that track is one of several with notes."""
        parts = {note.part[0] for note in self.notes}
        return "" if len(parts) > 1 and 1 in parts else self.names.get(1, "")


class _Track:
    """One track: pairs note-ons with note-offs and keeps the events that say how to write them."""

    def __init__(self, file: _Collected, track: int) -> None:
        self._file = file
        self._track = track
        self._tick = 0
        self._sounding: dict[tuple[int, int], deque[int]] = defaultdict(deque)

    def read(self, body: bytes) -> None:
        """Read to the track's end; notes that were never released end with it."""
        for ticks, event in _events(body, self._track, self._file.name):
            self._tick += ticks
            if event.isNoteOn():
                self._sounding[event.channel, event.pitch].append(self._tick)
            elif event.isNoteOff():  # a note-on with velocity 0 is one too
                started = self._sounding[event.channel, event.pitch]
                if started:
                    self._keep(started.popleft(), event.channel, event.pitch)
            else:
                self._sign(event)
        for (channel, midi), started in self._sounding.items():
            for start in started:
                self._keep(start, channel, midi)

    def _keep(self, start: int, channel: int, midi: int) -> None:
        if channel == _PERCUSSION_CHANNEL:
            self._file.percussion += 1
            return
        if len(self._file.notes) >= limits.NOTES:
            raise too_many_notes(self._file.name)
        self._file.notes.append(TickNote(start, max(self._tick, start + 1), midi, (self._track, channel)))

    def _sign(self, event: Any) -> None:
        file, data = self._file, event.data
        match event.type.name:
            case "PROGRAM_CHANGE":
                file.programs.setdefault((self._track, event.channel), data)
            case "SEQUENCE_TRACK_NAME":
                name = bytes(data).decode("utf-8", "replace")
                file.names.setdefault(self._track, name.strip("\0 \t\r\n"))
            case "SET_TEMPO" if len(data) == 3 and any(data):
                file.tempos.setdefault(self._tick, int.from_bytes(data, "big"))
            case "TIME_SIGNATURE" if len(data) >= 2 and 0 < data[0] < 100 and data[1] <= 6:
                file.meters.setdefault(self._tick, (data[0], 2 ** data[1]))
            case "KEY_SIGNATURE" if len(data) == 2:
                fifths = int.from_bytes(data[:1], "big", signed=True)
                if -7 <= fifths <= 7:
                    file.keys.setdefault(self._tick, (fifths, data[1] == 1))


def _events(body: bytes, track: int, name: str) -> Iterator[tuple[int, Any]]:
    """Yield (ticks since the event before, music21's MidiEvent) until the end of the track.

    Event by event and not through `MidiFile`, which leaves out without a word the events that it cannot read, so
    that a damaged file would come in as other music, and which copies the rest of the track for each event.
    """
    from music21 import midi

    status: int | None = None
    rest: Any = memoryview(body)
    while rest:
        event = midi.MidiEvent()
        event.lastStatusByte = status
        try:
            ticks, rest = midi.DeltaTime().readUntilLowByte(rest)
            # music21 copies what it puts a running status before: two data bytes follow at most.
            given = rest[:2] if rest[0] < _STATUS else rest
            left = event.read(given)
            whole = ticks <= _LONGEST_WAIT and _is_whole(event, given)
        except (midi.MidiException, IndexError, TypeError, ValueError) as error:
            raise damaged_track(track, name) from error
        if not whole:
            raise damaged_track(track, name)
        if event.type is midi.MetaEvents.END_OF_TRACK:
            return
        if event.lastStatusByte is not None and event.lastStatusByte < _SYSTEM:
            status = event.lastStatusByte
        rest = rest[len(given) - len(left) :]
        yield ticks, event


def _is_whole(event: Any, given: Any) -> bool:
    """Whether music21 made an event of bytes that were all there: where they are not it makes do with less."""
    from music21 import midi

    if given[0] >= _SYSTEM:
        size, data = midi.getVariableLengthNumber(given[2 if given[0] == midi.METAEVENT_MARKER else 1 :])
        return bool(size <= len(data))
    size = (given[0] >= _STATUS) + (1 if event.type.name in _ONE_DATA_BYTE else 2)
    numbers = [number for number in (event.parameter1, event.parameter2) if isinstance(number, int)]
    return event.lastStatusByte is not None and len(given) >= size and all(n < _STATUS for n in numbers)
