"""Where one section ends and the next begins, when a piece has a subject.

Method: the cheapest division of the measures into stretches of one treatment each (dynamic programming over all
divisions, stretches up to 32 measures). A stretch costs its misfit and a fixed price; a cut costs less
where a cadence falls, more where it goes through a statement or a sequence.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from counterpane.analysis.meter import beat_length
from counterpane.analysis.treatments import IMPOSSIBLE, TREATMENTS, MeasureFacts, Treatment, misfit
from counterpane.model.analysis import Sequence, Statement
from counterpane.model.piece import Piece

_PRICE = 1.0
_AT_CADENCE = 1.5
# Only a cadence that is heard clearly ends a section while a voice is still stating the subject.
_THROUGH_STATEMENT = 1.0
_THROUGH_SEQUENCE = 1.5
_LONGEST = 32


@dataclass(frozen=True)
class Stretch:
    """Measures `first` to `last` (indices, both included) of one treatment; `misfit` 0 is a perfect fit."""

    first: int
    last: int
    treatment: Treatment
    misfit: float


def cut(
    piece: Piece,
    facts: MeasureFacts,
    statements: tuple[Statement, ...],
    sequences: tuple[Sequence, ...],
) -> tuple[Stretch, ...]:
    """Return the stretches of `piece` in order; together they hold every measure."""
    count = len(piece.measures)
    at_cut = _cut_costs(piece, facts, statements, sequences)
    cheapest = [0.0] + [IMPOSSIBLE * count] * count
    came_from: list[Stretch | None] = [None] * (count + 1)
    for after in range(1, count + 1):
        for first in range(max(0, after - _LONGEST), after):
            for treatment in TREATMENTS:
                cost = misfit(facts, treatment, first, after)
                total = cheapest[first] + cost + _PRICE + at_cut[after]
                if total < cheapest[after]:
                    cheapest[after] = total
                    came_from[after] = Stretch(first, after - 1, treatment, cost)
    stretches: list[Stretch] = []
    after = count
    while after:
        stretch = came_from[after]
        assert stretch is not None, "a stretch of free measures always fits"
        stretches.append(stretch)
        after = stretch.first
    return tuple(reversed(stretches))


def _cut_costs(
    piece: Piece,
    facts: MeasureFacts,
    statements: tuple[Statement, ...],
    sequences: tuple[Sequence, ...],
) -> list[float]:
    costs = [0.0] * (len(piece.measures) + 1)
    for index, confidence in facts.closes.items():
        costs[index + 1] -= _AT_CADENCE * confidence
    for statement in statements:
        _charge(piece, costs, statement.start.offset, statement.end.offset, _THROUGH_STATEMENT)
    for sequence in sequences:
        if len(sequence.statements) >= sequence.count - 1:
            _charge(piece, costs, sequence.start.offset, sequence.end.offset, _THROUGH_SEQUENCE)
    return costs


def _charge(piece: Piece, costs: list[float], start: Fraction, end: Fraction, price: float) -> None:
    """Charge every barline that leaves more than a beat of the span on either side."""
    for index in range(piece.measure_at(start).index + 1, piece.measure_at(end).index + 1):
        barline = piece.measures[index].onset
        beat = beat_length(piece.measures[index])
        if barline - start >= beat and end - barline >= beat:
            costs[index] += price
