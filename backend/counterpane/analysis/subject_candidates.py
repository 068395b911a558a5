"""Where a subject may begin and end: entries of voices; note boundaries from half a measure to four measures."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from counterpane.analysis.steps import Flags, Line, Lines
from counterpane.model.piece import Piece

# An opening idea begins within this many measures, so that a bass note or a pickup before it does no harm.
_OPENING_MEASURES = 5
_MOST_STARTS = 7
# About half a measure: an idea that begins after a rest is a little shorter.
_SHORTEST_MEASURES = Fraction(2, 5)
_LONGEST_MEASURES = 4
_FEWEST_NOTES = 4
_MOST_NOTES = 64
# Up to this many notes every end is tried; beyond it only ends on a beat or just before another voice enters.
_EVERY_END_UP_TO = 12


@dataclass(frozen=True)
class Start:
    """A place where the subject may begin: a note of a line, and how many notes it may have."""

    line: int
    note: int
    sizes: tuple[int, ...]


def starts_of(piece: Piece, lines: Lines) -> list[Start]:
    """Return the places where the opening idea may begin, the likeliest first."""
    full = next((measure for measure in piece.measures if not measure.padding), piece.measures[0])
    measure = lines.ticks(Fraction(4 * full.beats, full.beat_unit))
    # Entries come before notes that are only on a beat, the earlier before the later.
    found = [
        (not entry, int(line.onset[note]), index, note)
        for index, line in enumerate(lines.lines)
        for note, entry in _beginnings(line, on_beat(lines, line), measure)
    ]
    starts = [
        Start(index, note, _sizes(lines, lines.lines[index], note, measure)) for *_, index, note in sorted(found)
    ]
    return [start for start in starts if start.sizes][:_MOST_STARTS]


def on_beat(lines: Lines, line: Line) -> Flags:
    """Return which notes of a line begin on a beat."""
    struck: Flags = lines.phase(line.onset) == 0
    return struck


def _beginnings(line: Line, struck: Flags, measure: int) -> list[tuple[int, bool]]:
    """Return the first note and those after rests (True), and those on a beat soon after the first (False)."""
    entry = np.append(True, line.onset[1:] > line.end[:-1])
    soon = struck & (line.onset < line.onset[0] + measure)
    opening = line.onset < _OPENING_MEASURES * measure
    return [(int(note), bool(entry[note])) for note in np.flatnonzero((entry | soon) & opening)]


def _before_entries(lines: Lines, line: Line) -> Flags:
    """Return which notes of a line are the last before another one begins to play."""
    before = np.searchsorted(line.onset, [other.onset[0] for other in lines.lines], side="left") - 1
    last = np.zeros(len(line), dtype=np.bool_)
    last[before[before >= 0]] = True
    return last


def _sizes(lines: Lines, line: Line, first: int, measure: int) -> tuple[int, ...]:
    """Return how many notes a subject from `first` on may have."""
    onset = line.onset[first : first + _MOST_NOTES] - line.onset[first]
    end = line.end[first : first + _MOST_NOTES] - line.onset[first]
    size = np.arange(1, len(onset) + 1)
    fits = (size >= _FEWEST_NOTES) & (onset <= _LONGEST_MEASURES * measure)
    # The last note's length is free: the idea lasts at least until it ends.
    fits &= end >= float(_SHORTEST_MEASURES * measure)
    likely = (
        on_beat(lines, line)[first : first + _MOST_NOTES]
        | _before_entries(lines, line)[first : first + _MOST_NOTES]
    )
    fits &= (size <= _EVERY_END_UP_TO) | likely
    return tuple(size[fits].tolist())
