"""Where a subject may begin and end: entries of voices; note boundaries from half a measure to four measures."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from counterpane.analysis.steps import Line, Lines
from counterpane.model.piece import Piece

# An opening idea begins within this many measures, so that a bass note or a pickup before it does no harm.
_OPENING_MEASURES = 5
_MOST_STARTS = 8
_FIRST_NOTES = 16
_SHORTEST_MEASURES = Fraction(2, 5)  # about half a measure; one that begins after a rest is a little shorter
_LONGEST_MEASURES = 4
_FEWEST_NOTES = 4
_MOST_NOTES = 64
# Up to this many notes every end is tried; beyond it only ends on a beat.
_EVERY_END_UP_TO = 14


@dataclass(frozen=True)
class Start:
    """A place where the subject may begin: a note of a line, and how many notes it may have."""

    line: int
    note: int
    sizes: tuple[int, ...]


def starts_of(piece: Piece, lines: Lines) -> list[Start]:
    """Return the places where the opening idea may begin, the earliest first."""
    opening = piece.measures[0].onset + _OPENING_MEASURES * _full_measure(piece)
    found = [
        (line.notes[note].onset, index, note)
        for index, line in enumerate(lines.lines)
        for note in _entries(piece, line)
        if line.notes[note].onset < opening
    ]
    starts = [Start(index, note, _sizes(piece, lines.lines[index], note)) for _, index, note in sorted(found)]
    return [start for start in starts if start.sizes][:_MOST_STARTS]


def _entries(piece: Piece, line: Line) -> list[int]:
    """Return the first note, each note after a rest, and each on a beat of the line's first measure."""
    after_rest = np.flatnonzero(line.onset[1:] > line.end[:-1]) + 1
    stop = piece.measure_at(line.notes[0].onset).end
    on_beat = [
        index
        for index, note in enumerate(line.notes[:_FIRST_NOTES])
        if note.onset < stop and piece.place(note.onset).beat.denominator == 1
    ]
    return sorted({0, *after_rest.tolist(), *on_beat})


def _sizes(piece: Piece, line: Line, first: int) -> tuple[int, ...]:
    """Return how many notes a subject from `first` on may have."""
    measure = _full_measure(piece)
    begin = line.notes[first].onset
    sizes = []
    for size in range(_FEWEST_NOTES, min(_MOST_NOTES, len(line) - first) + 1):
        end = line.notes[first + size - 1]
        if end.onset - begin > _LONGEST_MEASURES * measure:
            break
        # The last note's length is free: the idea lasts at least until the note after it.
        if end.end - begin < _SHORTEST_MEASURES * measure:
            continue
        if size <= _EVERY_END_UP_TO or piece.place(end.onset).beat.denominator == 1:
            sizes.append(size)
    return tuple(sizes)


def _full_measure(piece: Piece) -> Fraction:
    full = next((measure for measure in piece.measures if not measure.padding), piece.measures[0])
    return Fraction(4 * full.beats, full.beat_unit)
