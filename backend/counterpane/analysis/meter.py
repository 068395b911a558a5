"""What the meter says of a place: the beat that is felt, and how strong an onset is."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from counterpane.model.piece import Measure, Note, Piece


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


def beats_of(piece: Piece) -> list[float]:
    """Return the onsets of all beats in quarters; a pickup begins with whatever part of a beat it has."""
    beats: list[float] = []
    for measure in piece.measures:
        beat = float(beat_length(measure))
        onset, end = float(measure.onset), float(measure.end)
        beats.append(onset)
        following = onset + (beat - float(measure.padding) % beat)
        while following < end - 1e-6:
            beats.append(following)
            following += beat
    return beats


def beats_under(note: Note, beats: list[float], ends: list[float]) -> list[tuple[int, float]]:
    """Return the beats that a note sounds in, and for how many quarters in each."""
    onset, end = float(note.onset), float(note.end)
    row = max(0, bisect_right(beats, onset + 1e-6) - 1)
    found = []
    while row < len(beats) and beats[row] < end - 1e-6:
        found.append((row, min(end, ends[row]) - max(onset, beats[row])))
        row += 1
    return found


def _is_compound(measure: Measure) -> bool:
    return measure.beats > 3 and measure.beats % 3 == 0 and measure.beat_unit >= 8
