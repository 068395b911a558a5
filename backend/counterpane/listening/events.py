"""From raw key events to a `Performance`: which keys went down when, how hard, and when they came up again.

A raw event is `(time_ms, status, data1, data2)`: the device's own clock in milliseconds and the bytes of a
channel message of the MIDI 1.0 standard (section "Channel Voice Messages"). A note-on with velocity 0 is a
note-off. Note-ons are numbered from 0 in time order, at one instant from low to high pitch: that number is
the `event` every later stage speaks of, so no note-on is ever dropped here. What had to be repaired is said
in `Performance.warnings`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from counterpane.errors import PerformanceError
from counterpane.model.performance import PedalChange, Performance, PlayedNote

NOTE_OFF, NOTE_ON, CONTROL_CHANGE = 0x80, 0x90, 0xB0
SUSTAIN_PEDAL = 64
ALL_SOUND_OFF, ALL_NOTES_OFF = 120, 123
PEDAL_DOWN_FROM = 64
MAX_NOTES = 60_000
"""About two hours of continuous playing; more is not one attempt."""

SAME_STROKE_MS = 5.0
"""Two note-ons of one key closer than this are two written voices on one key, not a lost note-off."""

_HANDFUL, _HANDFUL_MS = 12, 10.0
"""More keys than this in such a time are no two hands."""

RawEvent = tuple[float, int, int, int]


@dataclass(frozen=True, slots=True)
class TrackedEvent:
    """A raw event and the stream (track of a file) it came in; keys are paired within a stream."""

    time_ms: float
    status: int
    data1: int
    data2: int
    stream: int = 0


def performance_from_raw(events: Sequence[RawEvent]) -> Performance:
    """Read events as a keyboard or a page sends them; times in milliseconds on any clock.

    Events out of order are put in order, unreadable ones are left out, lost note-offs are repaired where a
    later stroke of the key shows them; each repair is one sentence in `warnings`. Raises `PerformanceError`
    when there are more than `MAX_NOTES` notes.
    """
    readable = [
        TrackedEvent(float(event[0]), *event[1:]) for event in events if len(event) == 4 and _is_readable(*event)
    ]
    skipped = len(events) - len(readable)
    warnings = [
        _count(skipped, "event could not be read and was left out.", "events could not be read and were left out.")
    ]
    return performance_from_streams(readable, warnings if skipped else [])


def performance_from_streams(events: Iterable[TrackedEvent], warnings: Iterable[str] = ()) -> Performance:
    """Pair strokes with releases within each stream and number the strokes over all of them."""
    given = list(events)
    said = list(warnings)
    ordered = sorted(given, key=lambda event: event.time_ms)
    if any(later.time_ms < earlier.time_ms for earlier, later in pairwise(given)):
        said.append("Some events arrived out of order and were put in order of their times.")
    strokes, pedal, lost = _pair(ordered)
    stuck = sum(stroke.release_ms is None for stroke in strokes)
    if lost:
        said.append(
            _count(
                lost,
                "key was struck again without having been let go.",
                "keys were struck again without having been let go.",
            )
        )
    if stuck:
        said.append(_count(stuck, "key was never let go.", "keys were never let go."))
    if not strokes:
        said.append("No key was struck.")
    strokes.sort(key=lambda stroke: (stroke.onset_ms, stroke.midi))
    if any(
        later.onset_ms - stroke.onset_ms < _HANDFUL_MS
        for stroke, later in zip(strokes, strokes[_HANDFUL:], strict=False)
    ):
        said.append("Keys came faster than two hands can strike them; check the connection to the piano.")
    notes = tuple(replace(stroke, event=number) for number, stroke in enumerate(strokes))
    return Performance(notes, tuple(pedal), tuple(said))


def _pair(events: Sequence[TrackedEvent]) -> tuple[list[PlayedNote], list[PedalChange], int]:
    strokes: list[PlayedNote] = []
    pedal: list[PedalChange] = []
    open_strokes: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    lost = 0

    def release(waiting: list[int], time_ms: float) -> None:
        index = waiting.pop(0)
        strokes[index] = replace(strokes[index], release_ms=time_ms)

    for event in events:
        kind, channel = event.status & 0xF0, event.status & 0x0F
        waiting = open_strokes[event.stream, channel, event.data1] if kind != CONTROL_CHANGE else []
        if kind == NOTE_ON and event.data2 > 0:
            while waiting and event.time_ms - strokes[waiting[0]].onset_ms > SAME_STROKE_MS:
                release(waiting, event.time_ms)
                lost += 1
            _refuse_flood(len(strokes))
            waiting.append(len(strokes))
            strokes.append(PlayedNote(len(strokes), event.time_ms, None, event.data1, event.data2))
        elif kind in (NOTE_ON, NOTE_OFF) and waiting:
            release(waiting, event.time_ms)
        elif kind == CONTROL_CHANGE and event.data1 == SUSTAIN_PEDAL:
            _add_pedal(pedal, event)
        elif kind == CONTROL_CHANGE and event.data1 in (ALL_SOUND_OFF, ALL_NOTES_OFF):
            for (stream, its_channel, _), keys in open_strokes.items():
                while keys and stream == event.stream and its_channel == channel:
                    release(keys, event.time_ms)
    return strokes, pedal, lost


def _add_pedal(pedal: list[PedalChange], event: TrackedEvent) -> None:
    """Half-pedalling devices send a stream of values: only the changes between up and down are kept."""
    down = event.data2 >= PEDAL_DOWN_FROM
    if down != (pedal[-1].down if pedal else False):
        pedal.append(PedalChange(event.time_ms, down))


def _refuse_flood(count: int) -> None:
    if count >= MAX_NOTES:
        raise PerformanceError(
            f"the performance has more than {MAX_NOTES:,} notes, more than one attempt holds; cut it into attempts"
        )


def _is_readable(time_ms: object, *message: object) -> bool:
    if not isinstance(time_ms, (int, float)) or not math.isfinite(time_ms):
        return False
    status, *data = (byte if isinstance(byte, int) else -1 for byte in message)
    return 0x80 <= status <= 0xFF and all(0 <= byte <= 127 for byte in data)


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
