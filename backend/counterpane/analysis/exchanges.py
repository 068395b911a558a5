"""Invertible counterpoint: what two voices did together returns with the voices exchanged.

The highest and the lowest voice are compared at the commonest distances at which one states the subject after the
other; a stretch counts when each voice takes over at least six notes of the other for a measure or longer.
"""

from __future__ import annotations

from bisect import bisect_left

import numpy as np

from counterpane.analysis.meter import full_length
from counterpane.analysis.sequence_runs import NO_PARTNER, partners, segments
from counterpane.analysis.steps import Line, Lines, lines_of
from counterpane.analysis.timeline import Timeline
from counterpane.model.analysis import Exchange, Statement
from counterpane.model.piece import Piece

_NOTES = 6
_MOST_DISTANCES = 24
_MOST_STEPS = 3

Stretch = tuple[int, int, int]


def find_exchanges(
    piece: Piece, statements: tuple[Statement, ...], *, lines: Lines | None = None
) -> tuple[Exchange, ...]:
    """Return exchanges of the outer voices in time order, the longest reading of each stretch.

    `lines` saves making them when they are at hand.
    """
    lines = lines or lines_of(piece)
    if len(lines.lines) < 2:
        return ()
    upper, lower = lines.lines[0], lines.lines[-1]
    least = lines.ticks(full_length(piece.measures[-1]))
    found = [
        (common[1] - common[0], common, lag)
        for lag in _distances(lines, statements, upper.voice, lower.voice)
        if (ones := _stretches(upper, lower, lag))
        for common in _common(ones, _stretches(lower, upper, lag), lag)
        if common[1] - common[0] >= least
    ]
    kept: list[tuple[tuple[int, int], int]] = []  # in time order; no two overlap
    for _, common, lag in sorted(found, reverse=True):
        place = bisect_left(kept, (common, lag))
        after_last = place == 0 or kept[place - 1][0][1] <= common[0]
        if after_last and (place == len(kept) or common[1] <= kept[place][0][0]):
            kept.insert(place, (common, lag))
    return tuple(_exchange(piece, lines, common, lag) for common, lag in kept)


def _distances(lines: Lines, statements: tuple[Statement, ...], upper: int, lower: int) -> list[int]:
    """Return the commonest distances in ticks, of equally common ones those that are heard first."""
    starts = [
        np.array([lines.ticks(s.start.offset) for s in statements if s.voice == voice], dtype=np.int64)
        for voice in (upper, lower)
    ]
    forms = [np.array([s.form for s in statements if s.voice == voice], dtype=np.str_) for voice in (upper, lower)]
    apart = np.abs(np.subtract.outer(*starts))
    lags, first, times = np.unique(
        apart[(apart > 0) & np.equal.outer(*forms)], return_index=True, return_counts=True
    )
    commonest: list[int] = lags[np.lexsort((first, -times))].tolist()
    return commonest[:_MOST_DISTANCES]


def _stretches(line: Line, other: Line, lag: int) -> list[Stretch]:
    """Return start and end (ticks) and number of notes of the stretches that `other` takes over `lag` later."""
    partner, step = partners(line, other, lag)
    found = []
    values, counts = np.unique(step[step != NO_PARTNER], return_counts=True)
    commonest = counts.argsort()[-_MOST_STEPS:]
    for value in values[commonest][counts[commonest] >= _NOTES].tolist():
        for first, last in segments(np.flatnonzero(step == value), partner):
            if last - first + 1 >= _NOTES:
                found.append((int(line.onset[first]), int(line.end[last]), last - first + 1))
    return found


def _common(ones: list[Stretch], others: list[Stretch], lag: int) -> list[tuple[int, int]]:
    """Return where both voices take over from each other; a stretch must end before its return begins."""
    timeline = Timeline((other[0], other[1], other) for other in others)
    return [
        (max(a[0], b[0]), min(a[1], b[1], max(a[0], b[0]) + lag))
        for a in ones
        for b in timeline.touching(a[0], a[1])
        if max(a[0], b[0]) < min(a[1], b[1])
    ]


def _exchange(piece: Piece, lines: Lines, common: tuple[int, int], lag: int) -> Exchange:
    first, last = (common[0], common[1]), (common[0] + lag, common[1] + lag)
    groups = [_notes(lines, *span) for span in (first, last)]
    ends = [[piece.by_id[note].onset for note in group] for group in groups]
    before, after = piece.place(min(ends[0])), piece.place(min(ends[1]))
    return Exchange(
        before,
        piece.place(max(ends[0])),
        after,
        piece.place(max(ends[1])),
        (*groups[0], *groups[1]),
        0.8,
        f"From measure {after.measure} the lower voice has what the upper one had from measure {before.measure}, "
        "and the upper voice what the lower one had.",
    )


def _notes(lines: Lines, start: int, end: int) -> tuple[str, ...]:
    found = []
    for line in (lines.lines[0], lines.lines[-1]):
        first, last = np.searchsorted(line.onset, [start, end])
        found += [note.id for note in line.notes[first:last]]
    return tuple(found)
