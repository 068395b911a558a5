"""From ticks to written time: onsets and ends as exact fractions of a quarter note.

Each quarter of the piece takes one grid, straight or in triplets. In a file saved from notation nearly all times
lie on some grid, fives and sevens included: the coarsest one that fits is taken. In a recording it is the one that
costs least: squared deviations against the finer grid's price and against two notes falling on one place.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import log2

from counterpane.score.midi.events import TickFile, TickNote

_EXACT_GRIDS = (1, 2, 4, 3, 8, 6, 12, 16, 24, 5, 7, 32)
_FINE_RESOLUTION = 96
_SAVED_SHARE = 0.9
_PLAYED_GRIDS = (1, 2, 4, 3, 8, 6)
_PLAYED_SPREAD = 0.05
"""How far a played onset usually lies from its place, in quarters (common practice, no source)."""
_SAME_PLACE = 0.08
_MERGE_PRICE = 4.0
_FINENESS_PRICE = 0.7
_TRIPLET_PRICE = 1.0
_LEGATO_SHARE, _LEGATO_LEAST = 0.15, 0.06


@dataclass(frozen=True, slots=True)
class TimedNote:
    """A note with its written onset and end, in quarters."""

    onset: Fraction
    end: Fraction
    midi: int
    part: tuple[int, int]


def quantise(file: TickFile) -> tuple[TimedNote, ...]:
    """Give each note of the file its written onset and end; sorted by onset, then pitch."""
    quarter = file.ticks_per_quarter
    cells: dict[int, list[int]] = defaultdict(list)
    for note in file.notes:
        cells[note.start // quarter].append(note.start % quarter)
    saved = _mostly_exact([note.start for note in file.notes], quarter)
    grids = {cell: _grid(sorted(set(ticks)), quarter, saved) for cell, ticks in cells.items()}
    onsets = {note.start: _snap(note.start, quarter, grids[note.start // quarter]) for note in file.notes}
    ends = _Ends(file, onsets, grids)
    timed = [TimedNote(onsets[note.start], ends.of(note), note.midi, note.part) for note in file.notes]
    return tuple(sorted(timed, key=lambda note: (note.onset, note.midi, note.end, note.part)))


def _mostly_exact(ticks: Sequence[int], quarter: int) -> bool:
    """Whether the file was saved from notation: nine in ten of its times lie on some grid."""
    return sum(_exact_grid([tick % quarter], quarter) is not None for tick in ticks) >= _SAVED_SHARE * len(ticks)


def _grid(ticks: Sequence[int], quarter: int, saved: bool) -> int:
    """Return into how many places a quarter is divided for these ticks inside it."""
    exact = _exact_grid(ticks, quarter) if saved else None
    return exact or min(_PLAYED_GRIDS, key=lambda grid: _price(ticks, quarter, grid))


def _exact_grid(ticks: Sequence[int], quarter: int) -> int | None:
    """Return the coarsest grid on which all ticks lie, within rounding; at fine resolutions, within a tick."""
    for tolerance in (0.5, 1.0) if quarter >= _FINE_RESOLUTION else (0.5,):
        for grid in _EXACT_GRIDS:
            if all(_off_grid(tick, quarter, grid) <= tolerance for tick in ticks):
                return grid
    return None


def _off_grid(tick: int, quarter: int, grid: int) -> float:
    return abs(tick - round(tick * grid / quarter) * quarter / grid)


def _price(ticks: Sequence[int], quarter: int, grid: int) -> float:
    deviations = sum((_off_grid(tick, quarter, grid) / quarter / _PLAYED_SPREAD) ** 2 for tick in ticks)
    merged = sum(
        round(a * grid / quarter) == round(b * grid / quarter) and b - a > _SAME_PLACE * quarter
        for a, b in pairwise(ticks)
    )
    fineness = _FINENESS_PRICE * len(ticks) * log2(grid) + (_TRIPLET_PRICE if grid % 3 == 0 else 0)
    return deviations + _MERGE_PRICE * merged + fineness


def _snap(tick: int, quarter: int, grid: int) -> Fraction:
    cell, within = divmod(tick, quarter)
    return cell + Fraction(round(within * grid / quarter), grid)


class _Ends:
    """Where notes end. Keys are let go early and late; a note that ends near another's onset ends there."""

    def __init__(self, file: TickFile, onsets: dict[int, Fraction], grids: dict[int, int]) -> None:
        self._quarter = file.ticks_per_quarter
        self._onsets = onsets
        self._grids = grids
        self._starts: dict[tuple[int, int], list[int]] = defaultdict(list)
        for note in file.notes:
            self._starts[note.part].append(note.start)
        self._saved = _mostly_exact([note.end for note in file.notes], self._quarter)

    def of(self, note: TickNote) -> Fraction:
        """Return the written end of a note, after its onset."""
        onset = self._onsets[note.start]
        exact = self._exact(note.end) if self._saved else None
        end = exact if exact is not None else self._near_onset(note)
        if end is None:
            end = _snap(note.end, self._quarter, max(self._grids.get(note.end // self._quarter, 4), 2))
        least = Fraction(
            1, self._grids[note.start // self._quarter] if self._grids[note.start // self._quarter] > 2 else 4
        )
        return end if end > onset else onset + least

    def _exact(self, tick: int) -> Fraction | None:
        """Return the place of a tick that lies on a grid within one tick, else None."""
        grid = _exact_grid([tick % self._quarter], self._quarter)
        return None if grid is None else _snap(tick, self._quarter, grid)

    def _near_onset(self, note: TickNote) -> Fraction | None:
        starts = self._starts[note.part]
        place = bisect_left(starts, note.end)
        slack = max(_LEGATO_LEAST * self._quarter, _LEGATO_SHARE * (note.end - note.start))
        near = [
            tick
            for tick in starts[max(0, place - 1) : place + 1]
            if note.start < tick and abs(tick - note.end) <= slack
        ]
        return self._onsets[min(near, key=lambda tick: abs(tick - note.end))] if near else None
