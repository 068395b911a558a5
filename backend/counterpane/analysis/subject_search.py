"""What a candidate subject explains: the bits that its statements save, for every length from one start at once.

The longest figure from a start is laid once on every place where three of its notes in a row return (upright or
inverted); each shorter candidate is a prefix of it, so that its claims are prefixes of the same rows.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from counterpane.analysis.matching import Figure, Seeds
from counterpane.analysis.matching_score import MISSED_AT_EDGE, Laid, lay
from counterpane.analysis.statements_claims import (
    ENTRY,
    LEAST_MET,
    LEAST_NOTES,
    OFF_THE_BEAT,
    SHORTENED_ELSEWHERE,
    least_part,
)
from counterpane.analysis.statements_cover import best_intervals
from counterpane.analysis.steps import Flags, Floats, Ints, Line, Lines, triples_of
from counterpane.model.analysis import Form

# While the subject is not known, the null model has counted its statements as habits of the piece, and each of
# them seems to be worth this many bits less.
LOOKING = 2.0
# Of the first notes of a figure, this share at least begins three that return, or no prefix is stated there.
_DENSE = 0.15
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
    """A figure laid at many places with what every prefix needs: one row a place, one column a note.

    `gained` and `met` are running sums of bits and of notes met, `edge` what a column loses less as the last of a
    prefix, `struck` where it is met, `headed` what is gained by it where it is met (a head can end there), `first`
    and `last` the notes a prefix spans, `entry` the bits to name it.
    """

    gained: Floats
    met: Ints
    edge: Floats
    struck: Flags
    headed: Floats
    first: Ints
    last: Ints
    entry: Floats


def reach_of_prefixes(figure: Figure, sizes: tuple[int, ...], lines: Lines) -> list[Reach]:
    """Return, for each number of notes in `sizes`, the best cover of the lines by that prefix of `figure`."""
    forms: list[tuple[Form, Figure]] = [("upright", figure), ("inverted", replace(figure, mirrored=True))]
    found = []
    for form, shape in forms:
        places = _returns(shape, lines.joined)
        if places:
            entry = ENTRY[form] - LOOKING + OFF_THE_BEAT * (lines.phase(places.time) != figure.phase)
            found.append(_rows(lay(shape, lines.joined, places), entry))
    if not found:
        return [Reach(size, (), (), (), (), 0.0, 0.0) for size in sizes]
    rows = _Rows(*(np.concatenate([getattr(one, field.name) for one in found]) for field in fields(_Rows)))
    return [_cover(rows, size) for size in sizes]


def _returns(figure: Figure, line: Line) -> Seeds | None:
    """Return the displacements and shifts at which three notes in a row return."""
    wanted = triples_of(np.diff(figure.shape), np.diff(figure.onset))
    ordered, first_note = line.triples
    begin = np.searchsorted(ordered, wanted, side="left")
    count = np.searchsorted(ordered, wanted, side="right") - begin
    column = np.repeat(np.arange(len(wanted)), count)
    within = np.arange(len(column)) - np.repeat(np.cumsum(count) - count, count)
    note = first_note[np.repeat(begin, count) + within]
    if len(note) == 0:
        return None
    time = line.onset[note] - figure.onset[column]
    shift = line.step[note] - figure.shape[column]
    # One number for each pair, with the column; only pairs that return densely enough for some prefix are kept.
    lowest, width = int(shift.min()), int(np.ptp(shift)) + 1
    keyed = np.sort((time * width + (shift - lowest)) * len(wanted) + column)
    key, column = np.divmod(keyed, len(wanted))
    begin = np.flatnonzero(np.append(True, key[1:] != key[:-1]))
    key, returns = key[begin], np.diff(begin, append=len(key))
    rank = np.arange(len(column)) - np.repeat(begin, returns) + 1
    dense = np.maximum.reduceat(rank >= _DENSE * (column + 3), begin)
    most = np.argsort(-returns[dense], kind="stable")[:_MOST_PLACES]
    key = key[dense][np.sort(most)]
    time, shift = key // width, key % width + lowest
    return Seeds(time, shift, shift) if len(time) else None


def _rows(laid: Laid, entry: Floats) -> _Rows:
    """Return the rows that are worth something for some prefix."""
    gained = np.cumsum(laid.gain, axis=1)
    edge = np.where(laid.met, np.maximum(-laid.gain, 0.0), np.maximum(-laid.gain - MISSED_AT_EDGE, 0.0))
    kept = np.flatnonzero(((gained + edge)[:, LEAST_NOTES - 1 :] > entry[:, None]).any(axis=1))
    note = laid.note[kept]
    return _Rows(
        gained=gained[kept],
        met=np.cumsum(laid.met[kept], axis=1),
        edge=edge[kept],
        struck=laid.met[kept],
        headed=np.where(laid.met[kept], gained[kept], -np.inf),
        first=note[np.arange(len(note)), np.argmax(note >= 0, axis=1)],
        last=np.maximum.accumulate(note, axis=1),
        entry=entry[kept],
    )


def _cover(rows: _Rows, size: int) -> Reach:
    """Return the best cover by the first `size` columns, whole or at least the head of them."""
    end = size - 1
    worth = rows.gained[:, end] + rows.edge[:, end] - rows.entry
    worth[rows.met[:, end] < LEAST_MET * size] = 0.0
    last = rows.last[:, end]
    whole = np.ones(len(worth), dtype=np.bool_)
    least = least_part(size)
    if least < size and len(worth):
        row = np.arange(len(worth))
        best = np.argmax(rows.headed[:, least - 1 : end], axis=1) + least - 1
        head = rows.headed[row, best] - rows.entry - SHORTENED_ELSEWHERE
        whole = head <= worth
        last = np.where(whole, last, rows.last[row, best])
        worth = np.maximum(worth, head)
    kept = np.flatnonzero((worth > 0) & (last >= 0))
    kept = kept[np.lexsort((rows.first[kept], last[kept]))]
    chosen = kept[best_intervals(rows.first[kept].tolist(), last[kept].tolist(), worth[kept].tolist())]
    return Reach(
        size,
        tuple(rows.first[chosen].tolist()),
        tuple(last[chosen].tolist()),
        tuple(worth[chosen].tolist()),
        tuple(whole[chosen].tolist()),
        _share(rows.struck[chosen, 0]),
        _share(rows.struck[chosen, end]),
    )


def _share(marks: Flags) -> float:
    return np.count_nonzero(marks) / len(marks) if len(marks) else 0.0
