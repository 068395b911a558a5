"""The measures of a MIDI file, from its meter and key events."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction
from typing import Generic, Literal, TypeVar

from counterpane.score import limits
from counterpane.score.midi.events import TickFile
from counterpane.score.midi.key import estimate_key
from counterpane.score.midi.quantise import TimedNote
from counterpane.score.refusals import too_many_measures
from counterpane.score.sketch import Bar
from counterpane.units import ticks_to_quarters

Key = tuple[int, Literal["major", "minor"]]
Meter = tuple[int, int]
T = TypeVar("T")


def lay_bars(file: TickFile, notes: Sequence[TimedNote], name: str) -> tuple[list[Bar], list[Fraction]]:
    """Return the measures, and where each begins, with the end of the last added (quarters).

    A pickup is measure 0, and a last measure that it completes ends with the notes. Raises `UnsuitableScore` above
    `limits.MEASURES`.
    """
    meters = _Changes(
        {ticks_to_quarters(tick, file.ticks_per_quarter): meter for tick, meter in file.meters}, (4, 4)
    )
    keys = _keys(file, notes)
    end = max(note.end for note in notes)
    pickup = _is_pickup(meters)
    starts = [Fraction(0)]
    bars: list[Bar] = []
    shown_meter: Meter | None = None
    shown_key: Key | None = None
    while starts[-1] < end:
        start = starts[-1]
        length = _length(meters.at(start))
        stop = min(start + length, meters.next_after(start) or start + length)
        meter = meters.at(stop) if pickup and not bars else meters.at(start)
        key = keys.at(start)
        bars.append(
            Bar(
                number=len(bars) + (0 if pickup else 1),
                meter=None if meter == shown_meter else meter,
                fifths=None if key == shown_key else key[0],
                mode=None if key == shown_key else key[1],
            )
        )
        shown_meter, shown_key = meter, key
        starts.append(stop)
        if len(bars) > limits.MEASURES:
            raise too_many_measures(name)
    if pickup and starts[-1] - end == starts[1]:
        starts[-1] = end
    return bars, starts


class _Changes(Generic[T]):
    """What holds from which place (quarters) on."""

    def __init__(self, changes: dict[Fraction, T], before: T) -> None:
        self._changes = {Fraction(0): before, **changes}
        self._places = sorted(self._changes)

    def at(self, place: Fraction) -> T:
        """Return what holds at a place."""
        return self._changes[self._places[bisect_right(self._places, place) - 1]]

    def next_after(self, place: Fraction) -> Fraction | None:
        """Return where the next change stands, if there is one."""
        index = bisect_right(self._places, place)
        return self._places[index] if index < len(self._places) else None


def _is_pickup(meters: _Changes[Meter]) -> bool:
    """Notation programs write a pickup as one short measure with a meter of its own, before the real one."""
    length = _length(meters.at(Fraction(0)))
    return meters.next_after(Fraction(0)) == length and _length(meters.at(length)) > length


def _length(meter: Meter) -> Fraction:
    return Fraction(4 * meter[0], meter[1])


def _keys(file: TickFile, notes: Sequence[TimedNote]) -> _Changes[Key]:
    given: dict[Fraction, Key] = {
        ticks_to_quarters(tick, file.ticks_per_quarter): (fifths, "minor" if minor else "major")
        for tick, (fifths, minor) in file.keys
    }
    # Many programs write "C major" when nobody chose a key: alone it says nothing.
    if Fraction(0) not in given or list(given.values()) == [(0, "major")]:
        given[Fraction(0)] = estimate_key((note.midi, float(note.end - note.onset)) for note in notes)
    return _Changes(given, (0, "major"))
