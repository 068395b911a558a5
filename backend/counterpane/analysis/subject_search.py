"""What a candidate subject explains: the bits that its statements save, for every length from one start at once.

The longest figure from a start is laid once on every place where three of its notes in a row return (upright or
inverted); each shorter candidate is a prefix of it, so that its claims are prefixes of the same rows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from counterpane.analysis.matching import Figure, Seeds
from counterpane.analysis.matching_score import MISSED_AT_EDGE, Laid, lay
from counterpane.analysis.statements_claims import (
    ENTRY,
    LEAST_MET,
    LEAST_NOTES,
    LEAST_SHARE,
    OFF_THE_BEAT,
    SHORTENED,
)
from counterpane.analysis.statements_cover import best_intervals
from counterpane.analysis.steps import Flags, Floats, Ints, Line, Lines
from counterpane.model.analysis import Form

# While the subject is not known, the null model has counted its statements as habits of the piece, and each of
# them seems to be worth this many bits less.
LOOKING = 2.0
# Columns at which a single return of three notes may belong to a statement of a short prefix.
_SHORT = 5
# However often a figure returns, this many places are enough to know what it explains.
_MOST_PLACES = 8000


@dataclass(frozen=True)
class Reach:
    """What a candidate of `size` notes explains.

    One entry a statement: its first and last note in the joined line, its worth in bits, whether it is whole.
    `first_met` and `last_met` are the shares of them that have the candidate's first and last note.
    """

    size: int
    firsts: tuple[int, ...]
    lasts: tuple[int, ...]
    worths: tuple[float, ...]
    whole: tuple[bool, ...]
    first_met: float
    last_met: float


@dataclass(frozen=True)
class _Rows:
    """A laid figure with what every prefix needs: running gain, running count of notes met, span of notes."""

    gained: Floats
    met: Ints
    edge: Floats
    head_allowed: Floats
    first: Ints
    last: Ints
    entry: Floats


def reach_of_prefixes(figure: Figure, sizes: tuple[int, ...], lines: Lines) -> list[Reach]:
    """Return, for each number of notes in `sizes`, the best cover of the lines by that prefix of `figure`."""
    forms: list[tuple[Form, Figure]] = [("upright", figure), ("inverted", replace(figure, mirrored=True))]
    rows = []
    for form, shape in forms:
        places = _returns(shape, lines.joined)
        if places:
            entry = ENTRY[form] - LOOKING + OFF_THE_BEAT * (lines.phase(places.time) != figure.phase)
            rows.append(_rows(lay(shape, lines.joined, places), entry))
    return [_cover(rows, size) for size in sizes]


def _returns(figure: Figure, line: Line) -> Seeds | None:
    """Return the displacements and shifts at which three notes in a row return."""
    wanted = _triples(np.diff(figure.shape), np.diff(figure.onset))
    present = _triples(line.interval, line.gap)
    order = np.argsort(present, kind="stable")
    ordered = present[order]
    begin = np.searchsorted(ordered, wanted, side="left")
    count = np.searchsorted(ordered, wanted, side="right") - begin
    column = np.repeat(np.arange(len(wanted)), count)
    within = np.arange(len(column)) - np.repeat(np.cumsum(count) - count, count)
    note = order[np.repeat(begin, count) + within]
    if len(note) == 0:
        return None
    time = line.onset[note] - figure.onset[column]
    shift = line.step[note] - figure.shape[column]
    # One number for each pair, and of those with a single return only what a short prefix can use.
    lowest, width = int(shift.min()), int(np.ptp(shift)) + 1
    key, first, returns = np.unique(time * width + (shift - lowest), return_index=True, return_counts=True)
    kept = (returns > 1) | (column[first] < _SHORT)
    most = np.argsort(-returns[kept], kind="stable")[:_MOST_PLACES]
    key = key[kept][np.sort(most)]
    time, shift = key // width, key % width + lowest
    return Seeds(time, shift, shift) if len(time) else None


def _triples(interval: Ints, gap: Ints) -> Ints:
    """Return one number for each three notes in a row, equal where both intervals and both times are."""
    one = interval * 1_000_003 + gap
    return one[:-1] * 16_777_259 + one[1:]


def _rows(laid: Laid, entry: Floats) -> _Rows:
    placed = laid.note >= 0
    return _Rows(
        gained=np.cumsum(laid.gain, axis=1),
        met=np.cumsum(laid.met, axis=1),
        edge=np.where(laid.met, np.maximum(-laid.gain, 0.0), np.maximum(-laid.gain - MISSED_AT_EDGE, 0.0)),
        head_allowed=np.where(laid.met, 0.0, -np.inf),
        first=laid.note[np.arange(len(laid.note)), np.argmax(placed, axis=1)],
        last=np.maximum.accumulate(laid.note, axis=1),
        entry=entry,
    )


def _cover(rows: list[_Rows], size: int) -> Reach:
    """Return the best cover by the first `size` columns."""
    firsts: list[Ints] = []
    lasts: list[Ints] = []
    worths: list[Floats] = []
    wholes: list[Floats] = []
    first_met: list[Flags] = []
    last_met: list[Flags] = []
    least = max(LEAST_NOTES, int(np.ceil(LEAST_SHARE * size)))
    for row in rows:
        complete = row.gained[:, size - 1] + row.edge[:, size - 1] - row.entry
        complete[row.met[:, size - 1] < LEAST_MET * size] = 0.0
        worth, last = complete, row.last[:, size - 1]
        whole = np.ones(len(worth))
        if least < size:
            heads = row.gained[:, least - 1 : size - 1] + row.head_allowed[:, least - 1 : size - 1]
            best = np.argmax(heads, axis=1)
            head = heads[np.arange(len(best)), best] - row.entry - SHORTENED
            whole = np.where(head > complete, 0.0, 1.0)
            worth = np.maximum(complete, head)
            last = np.where(head > complete, row.last[np.arange(len(best)), best + least - 1], last)
        kept = (worth > 0) & (last >= 0)
        firsts.append(row.first[kept])
        lasts.append(last[kept])
        worths.append(worth[kept])
        wholes.append(whole[kept])
        first_met.append((row.met[:, 0] > 0)[kept])
        last_met.append((row.head_allowed[:, size - 1] == 0.0)[kept])
    if not rows:
        return Reach(size, (), (), (), (), 0.0, 0.0)
    first, last, worth = np.concatenate(firsts), np.concatenate(lasts), np.concatenate(worths)
    order = np.lexsort((first, last))
    chosen = order[best_intervals(first[order].tolist(), last[order].tolist(), worth[order].tolist())]
    return Reach(
        size,
        tuple(first[chosen].tolist()),
        tuple(last[chosen].tolist()),
        tuple(worth[chosen].tolist()),
        tuple((np.concatenate(wholes)[chosen] > 0).tolist()),
        _share(first_met, chosen),
        _share(last_met, chosen),
    )


def _share(marks: list[Flags], chosen: Ints) -> float:
    return float(np.concatenate(marks)[chosen].mean()) if len(chosen) else 0.0
