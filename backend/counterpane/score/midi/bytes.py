"""Reading the bytes of a Standard MIDI File (Standard MIDI Files 1.0; MIDI 1.0 for the channel messages)."""

from __future__ import annotations

from collections import defaultdict, deque
from dataclasses import dataclass
from typing import NoReturn

from counterpane.errors import UnreadableScore, UnsuitableScore
from counterpane.score import limits
from counterpane.score.refusals import too_many_notes

_DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
_PERCUSSION_CHANNEL = 9


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


def read_bytes(data: bytes, name: str) -> TickFile:
    """Read a MIDI file. Raises `UnreadableScore` when it is damaged, with the track."""
    if data[:4] == b"RIFF":
        data = data[data.find(b"MThd") :]
    reader = _Reader(data, name)
    reader.read()
    reader.notes.sort(key=lambda note: (note.start, note.midi, note.end, note.part))
    return TickFile(
        reader.ticks_per_quarter,
        tuple(reader.notes),
        reader.percussion,
        tuple(sorted(reader.meters.items())),
        tuple(sorted(reader.keys.items())),
        tuple(sorted(reader.tempos.items())),
        reader.title(),
        reader.programs,
    )


class _Reader:
    """Goes through the chunks once and collects."""

    def __init__(self, data: bytes, name: str) -> None:
        self._data = data
        self.name = name
        self.ticks_per_quarter = 0
        self.notes: list[TickNote] = []
        self.percussion = 0
        self.meters: dict[int, tuple[int, int]] = {}
        self.keys: dict[int, tuple[int, bool]] = {}
        self.tempos: dict[int, int] = {}
        self.names: dict[int, str] = {}
        self.programs: dict[tuple[int, int], int] = {}

    def read(self) -> None:
        """Read the header and every track."""
        length = int.from_bytes(self._data[4:8], "big")
        if length < 6 or len(self._data) < 14:
            self._damaged("its header is cut off")
        division = int.from_bytes(self._data[12:14], "big")
        if division & 0x8000:
            raise UnsuitableScore(
                "the MIDI file counts time in film frames, not in beats; export it again with ticks a quarter.",
                file=self.name,
            )
        if division == 0:
            self._damaged("its header says 0 ticks a quarter note")
        if int.from_bytes(self._data[8:10], "big") == 2:
            raise UnsuitableScore(
                "the MIDI file holds several independent patterns (format 2); export it again as format 1.",
                file=self.name,
            )
        self.ticks_per_quarter = division
        at, track = 8 + length, 0
        while at + 8 <= len(self._data):
            size = int.from_bytes(self._data[at + 4 : at + 8], "big")
            body = self._data[at + 8 : at + 8 + size]
            if self._data[at : at + 4] == b"MTrk":
                track += 1
                if len(body) < size:
                    self._damaged(f"track {track} is cut off")
                _Track(self, body, track).read()
            at += 8 + size
        if track == 0:
            self._damaged("it holds no track")

    def title(self) -> str:
        """Return the name of the first track: the piece's, unless that track is one of several with notes."""
        parts = {note.part[0] for note in self.notes}
        return "" if len(parts) > 1 and 1 in parts else self.names.get(1, "")

    def _damaged(self, what: str) -> NoReturn:
        raise UnreadableScore(f"the MIDI file is damaged: {what}; export or copy it again.", file=self.name)

    def damaged_track(self, track: int) -> NoReturn:
        """Raise for a track whose bytes make no sense."""
        self._damaged(f"track {track} breaks off inside a message")


class _Track:
    """One track: delta times, running status, channel messages, meta events."""

    def __init__(self, file: _Reader, body: bytes, track: int) -> None:
        self._file = file
        self._body = body
        self._track = track
        self._at = 0
        self._tick = 0
        self._sounding: dict[tuple[int, int], deque[int]] = defaultdict(deque)

    def read(self) -> None:
        """Read to the track's end; notes that were never released end with it."""
        status = 0
        while self._at < len(self._body):
            self._tick += self._number()
            byte = self._byte()
            if byte == 0xFF:
                if self._meta():
                    break
                continue
            if byte in {0xF0, 0xF7}:
                self._take(self._number())
                continue
            if byte & 0x80:
                status = byte
                first = self._byte() if self._length(status) else 0
            else:
                first = byte  # running status: the status byte is that of the message before
            second = self._byte() if self._length(status) == 2 else 0
            self._channel_message(status, first, second)
        self._release_all()

    def _length(self, status: int) -> int:
        length = _DATA_BYTES.get(status >> 4)
        if length is None:
            self._file.damaged_track(self._track)
        return length

    def _channel_message(self, status: int, first: int, second: int) -> None:
        kind, channel = status >> 4, status & 0x0F
        if first > 127 or second > 127:
            self._file.damaged_track(self._track)
        if kind == 0xC:
            self._file.programs.setdefault((self._track, channel), first)
        elif kind == 0x9 and second > 0:
            self._sounding[channel, first].append(self._tick)
        elif kind in {0x8, 0x9}:  # a note-on with velocity 0 is a note-off
            started = self._sounding[channel, first]
            if started:
                self._keep(started.popleft(), channel, first)

    def _keep(self, start: int, channel: int, midi: int) -> None:
        if channel == _PERCUSSION_CHANNEL:
            self._file.percussion += 1
            return
        if len(self._file.notes) >= limits.NOTES:
            raise too_many_notes(self._file.name)
        self._file.notes.append(TickNote(start, max(self._tick, start + 1), midi, (self._track, channel)))

    def _release_all(self) -> None:
        for (channel, midi), started in self._sounding.items():
            for start in started:
                self._keep(start, channel, midi)

    def _meta(self) -> bool:
        """Read a meta event; return whether it ends the track."""
        kind = self._byte()
        body = self._take(self._number())
        if kind == 0x2F:
            return True
        if kind == 0x03:
            self._file.names.setdefault(self._track, body.decode("utf-8", "replace").strip("\0 \t\r\n"))
        elif kind == 0x51 and len(body) == 3 and any(body):
            self._file.tempos.setdefault(self._tick, int.from_bytes(body, "big"))
        elif kind == 0x58 and len(body) >= 2 and 0 < body[0] < 100 and body[1] <= 6:
            self._file.meters.setdefault(self._tick, (body[0], 2 ** body[1]))
        elif kind == 0x59 and len(body) == 2:
            fifths = int.from_bytes(body[:1], "big", signed=True)
            if -7 <= fifths <= 7:
                self._file.keys.setdefault(self._tick, (fifths, body[1] == 1))
        return False

    def _byte(self) -> int:
        if self._at >= len(self._body):
            self._file.damaged_track(self._track)
        self._at += 1
        return self._body[self._at - 1]

    def _take(self, size: int) -> bytes:
        if self._at + size > len(self._body):
            self._file.damaged_track(self._track)
        self._at += size
        return self._body[self._at - size : self._at]

    def _number(self) -> int:
        """Read a variable-length quantity: seven bits a byte, at most four bytes."""
        value = 0
        for _ in range(4):
            byte = self._byte()
            value = (value << 7) | (byte & 0x7F)
            if not byte & 0x80:
                break
        else:
            self._file.damaged_track(self._track)
        return value
