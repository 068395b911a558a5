"""How the subject is treated, measure by measure: the facts that section boundaries are drawn from.

A *treatment* is one of four: *answering*, voices state the subject by turns; *one voice*, a single voice
states it again and again; *cadencing*, the subject thins out toward a close; *free*, nobody states it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import Literal

from counterpane.analysis.meter import beat_length
from counterpane.model.analysis import Cadence, Sequence, Statement
from counterpane.model.piece import Piece

Treatment = Literal["answering", "one voice", "cadencing", "free"]
TREATMENTS: tuple[Treatment, ...] = ("answering", "one voice", "cadencing", "free")

_SAME_VOICE = 0.7
_OTHER_VOICE = 0.7
_OTHER_FORM = 0.5
_BARE_MEASURE = 0.6
_CROWDED = 1.0
_STATED = 1.0
_IN_SEQUENCE = 0.5
_TOO_LONG = 1.2
_CADENCING_MEASURES = 4
IMPOSSIBLE = 1e6


@dataclass(frozen=True)
class MeasureFacts:
    """Running sums, so that any stretch of measures is described in constant time.

    By measure (entry i: before measure i): `starts`, statements that begin; `bare`, measures mostly without a
    statement; `sequenced`, measures mostly within a sequence of statements. By statement in time order (entry
    k: up to the kth): `turns`, those in another voice than the one before; `changes`, those in another
    form. `closes` are the indices of measures that a cadence ends.
    """

    starts: list[int]
    bare: list[int]
    sequenced: list[int]
    turns: list[int]
    changes: list[int]
    closes: dict[int, float]


def measure_facts(
    piece: Piece,
    statements: tuple[Statement, ...],
    sequences: tuple[Sequence, ...],
    cadences: tuple[Cadence, ...],
) -> MeasureFacts:
    """Count what happens in each measure of `piece`."""
    starts = [0] * len(piece.measures)
    ordered = sorted(statements, key=lambda s: (s.start.offset, s.voice))
    for statement in ordered:
        starts[piece.measure_at(statement.start.offset).index] += 1
    stated = _filled(piece, _stated_spans(ordered))
    stating = [q for q in sequences if len(q.statements) >= q.count - 1]
    sequenced = _filled(piece, [(q.start.offset, q.end.offset) for q in stating])
    return MeasureFacts(
        _running(starts),
        _running([not filled for filled in stated]),
        _running(sequenced),
        _running([a.voice != b.voice for a, b in pairwise(ordered)]),
        _running([a.form != b.form for a, b in pairwise(ordered)]),
        closed_measures(piece, cadences),
    )


def closed_measures(piece: Piece, cadences: tuple[Cadence, ...]) -> dict[int, float]:
    """Return the indices of the measures that cadences end, with the confidence of each.

    A cadence on the first beat ends the measure before, unless its chord is all that the measure holds.
    """
    closed = {}
    for cadence in cadences:
        measure = piece.measure_at(cadence.place.offset)
        arrives_first = cadence.place.offset - measure.onset < beat_length(measure)
        following = bisect_right(piece.notes, cadence.place.offset, key=lambda note: note.onset)
        goes_on = following < len(piece.notes) and piece.notes[following].onset < measure.end
        closed[measure.index - (arrives_first and goes_on and measure.index > 0)] = cadence.confidence
    return closed


def misfit(facts: MeasureFacts, treatment: Treatment, first: int, after: int) -> float:
    """Return how badly measures `first` to `after` - 1 fit a treatment; 0 is a perfect fit."""
    starts = _sum(facts.starts, first, after)
    bare = _sum(facts.bare, first, after)
    if treatment == "free":
        return _STATED * (starts + after - first - bare)
    if treatment == "cadencing":
        if after - 1 not in facts.closes or not starts:
            return IMPOSSIBLE
        length = after - first
        crowded = _CROWDED * max(0.0, length / 2 - bare) + _IN_SEQUENCE * _sum(facts.sequenced, first, after)
        # What thins out has begun with a statement.
        late = _BARE_MEASURE * (_sum(facts.starts, first, first + 1) == 0)
        return crowded + late + _TOO_LONG * max(0, length - _CADENCING_MEASURES)
    if starts < 2:
        return IMPOSSIBLE
    # Statements are compared within the stretch only, not with the last one before it.
    begin, end = facts.starts[first], facts.starts[after] - 1
    turns, changes = _sum(facts.turns, begin, end), _sum(facts.changes, begin, end)
    if treatment == "answering":
        return _BARE_MEASURE * bare + _SAME_VOICE * (end - begin - turns) if turns else IMPOSSIBLE
    gained = _IN_SEQUENCE * _sum(facts.sequenced, first, after)
    return _BARE_MEASURE * bare + _OTHER_VOICE * turns + _OTHER_FORM * changes - gained


def _stated_spans(statements: list[Statement]) -> list[tuple[Fraction, Fraction]]:
    """Return where the subject is heard: a statement that runs on counts for the usual length of one only."""
    lengths = sorted(s.end.offset - s.start.offset for s in statements)
    usual = lengths[len(lengths) // 2] if lengths else Fraction(0)
    return [(s.start.offset, min(s.end.offset, s.start.offset + usual)) for s in statements]


def _sum(running: list[int], first: int, after: int) -> int:
    return running[after] - running[first]


def _running(values: list[int] | list[bool]) -> list[int]:
    return [0, *accumulate(int(value) for value in values)]


def _filled(piece: Piece, spans: list[tuple[Fraction, Fraction]]) -> list[bool]:
    """Say of each measure whether the spans (first to last onset) fill at least half of it."""
    filled = [Fraction(0)] * len(piece.measures)
    reached = Fraction(-1)
    for start, end in sorted(spans):
        begin = max(start, reached)
        reached = max(reached, end)
        index = piece.measure_at(begin).index
        while index < len(filled) and piece.measures[index].onset < end and begin < end:
            measure = piece.measures[index]
            filled[index] += max(Fraction(0), min(end, measure.end) - max(begin, measure.onset))
            index += 1
    return [2 * share >= measure.length for share, measure in zip(filled, piece.measures, strict=True)]
