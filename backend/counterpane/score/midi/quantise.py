"""From ticks to written time: onsets and ends as exact fractions of a quarter note.

Each quarter of the piece takes one grid, straight or in triplets (fives and sevens only where the ticks hit them
exactly). Where the ticks lie on a grid, as in a file saved from notation, the coarsest grid that they lie on is
taken; else, as in a recording, the grid that costs least: squared deviations against the finer grid's price and
against two notes falling on one place.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import log2

from counterpane.score.midi.bytes import TickFile, TickNote

_EXACT_GRIDS = (1, 2, 4, 3, 8, 6, 12, 16, 24, 5, 7, 32)
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
    grids = {cell: _grid(sorted(set(ticks)), quarter) for cell, ticks in cells.items()}
    onsets = {note.start: _snap(note.start, quarter, grids[note.start // quarter]) for note in file.notes}
    ends = _Ends(file, onsets, grids)
    timed = [TimedNote(onsets[note.start], ends.of(note), note.midi, note.part) for note in file.notes]
    return tuple(sorted(timed, key=lambda note: (note.onset, note.midi, note.end, note.part)))


def _grid(ticks: Sequence[int], quarter: int) -> int:
    """Return into how many places a quarter is divided for these ticks inside it."""
    for grid in _EXACT_GRIDS:
        if all(_off_grid(tick, quarter, grid) <= 1 for tick in ticks):
            return grid
    return min(_PLAYED_GRIDS, key=lambda grid: _price(ticks, quarter, grid))


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
        on_grid = sum(self._exact(note.end) is not None for note in file.notes)
        self._trust = on_grid >= 0.95 * len(file.notes)

    def of(self, note: TickNote) -> Fraction:
        """Return the written end of a note, after its onset."""
        onset = self._onsets[note.start]
        exact = self._exact(note.end) if self._trust else None
        end = exact if exact is not None else self._near_onset(note)
        if end is None:
            end = _snap(note.end, self._quarter, max(self._grids.get(note.end // self._quarter, 4), 2))
        least = Fraction(
            1, self._grids[note.start // self._quarter] if self._grids[note.start // self._quarter] > 2 else 4
        )
        return end if end > onset else onset + least

    def _exact(self, tick: int) -> Fraction | None:
        """Return the place of a tick that lies on a grid within one tick, else None."""
        within = tick % self._quarter
        for grid in _EXACT_GRIDS[:8]:
            if _off_grid(within, self._quarter, grid) <= 1:
                return _snap(tick, self._quarter, grid)
        return None

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
