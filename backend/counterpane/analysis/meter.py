"""What the meter says of a place: the beat that is felt, and how strong an onset is."""

from __future__ import annotations

from fractions import Fraction

from counterpane.model.piece import Measure, Piece


def beat_length(measure: Measure) -> Fraction:
    """Return the length of the beat that is felt, in quarters: three units in compound meters (6/8, 9/8, 12/8)."""
    unit = Fraction(4, measure.beat_unit)
    return 3 * unit if _is_compound(measure) else unit


def full_length(measure: Measure) -> Fraction:
    """Return how long a full measure of this meter is, in quarters, whatever this one holds."""
    return Fraction(4 * measure.beats, measure.beat_unit)


def strength(piece: Piece, offset: Fraction) -> int:
    """Return how strong the place is: 3 first beat, 2 middle of an even measure, 1 other beat, 0 between beats."""
    measure = piece.measure_at(offset)
    within = offset - measure.onset + measure.padding
    beat = beat_length(measure)
    if within == 0:
        return 3
    half = full_length(measure) / 2
    if within == half and (half / beat).denominator == 1:
        return 2
    return 1 if (within / beat).denominator == 1 else 0


def _is_compound(measure: Measure) -> bool:
    return measure.beats > 3 and measure.beats % 3 == 0 and measure.beat_unit >= 8
