"""One layer as symbols, measure by measure: cut at barlines and beats, tied on, rests filled in."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from counterpane.model.piece import Pitch
from counterpane.score.midi.layers import Chord
from counterpane.score.sketch import VALUES, Bar, Symbol, split_into_values

_FINEST = 32
_TUPLETS = {3: (3, 2), 5: (5, 4), 7: (7, 4)}
_Segment = tuple[Fraction, Fraction, Chord | None]


def write_layer(
    chords: Sequence[Chord], pitches: Sequence[Pitch], bars: Sequence[Bar], starts: Sequence[Fraction]
) -> list[tuple[Symbol, ...]]:
    """Return the symbols of each measure; an empty tuple where the layer is silent throughout.

    `starts` are the measures' onsets and the end of the last one, in quarters.
    """
    written: list[tuple[Symbol, ...]] = []
    place = 0
    meter = (4, 4)
    for i, bar in enumerate(bars):
        meter = bar.meter or meter
        begin, end = starts[i], starts[i + 1]
        while place < len(chords) and chords[place].end <= begin:
            place += 1
        here = place
        segments: list[_Segment] = []
        at = begin
        while here < len(chords) and chords[here].onset < end:
            chord = chords[here]
            if chord.onset > at:
                segments.append((at - begin, chord.onset - begin, None))
            segments.append((max(chord.onset, begin) - begin, min(chord.end, end) - begin, chord))
            at = min(chord.end, end)
            here += 1
        if segments and at < end:
            segments.append((at - begin, end - begin, None))
        written.append(_measure(segments, pitches, begin, _beat(meter)))
    return written


def _beat(meter: tuple[int, int]) -> Fraction:
    beats, unit = meter
    return Fraction(12, unit) if beats % 3 == 0 and beats > 3 and unit >= 8 else Fraction(4, unit)


def _measure(
    segments: Sequence[_Segment], pitches: Sequence[Pitch], begin: Fraction, beat: Fraction
) -> tuple[Symbol, ...]:
    symbols = _symbols(segments, pitches, begin, beat)
    if all(symbol.written in VALUES for symbol in symbols):
        return symbols
    # Two kinds of tuplet in one quarter cannot be written: fall back to the nearest places that can.
    plain = [(_plain(start), _plain(end), chord) for start, end, chord in segments]
    return _symbols([segment for segment in plain if segment[0] < segment[1]], pitches, begin, beat)


def _plain(place: Fraction) -> Fraction:
    return Fraction(round(place * _FINEST), _FINEST)


def _symbols(
    segments: Sequence[_Segment], pitches: Sequence[Pitch], begin: Fraction, beat: Fraction
) -> tuple[Symbol, ...]:
    tuplets = _tuplet_quarters(segments)
    symbols: list[Symbol] = []
    opened = -1
    for start, end, chord in segments:
        pieces = _cut(start, end, tuplets, beat)
        for onset, written, quarter in pieces:
            tuplet = tuplets.get(quarter) if quarter is not None else None
            length = written * Fraction(tuplet[1], tuplet[0]) if tuplet else written
            goes_on = chord is not None and begin + onset + length < chord.end
            sounding = tuple(pitches[i] for i in chord.notes) if chord else ()
            opens = tuplet is not None and quarter != opened
            if quarter is not None and tuplet:
                opened = quarter
            tied = tuple(range(len(sounding))) if goes_on else ()
            symbols.append(Symbol(sounding, written, tuplet, opens, tied))
    return tuple(symbols)


def _tuplet_quarters(segments: Sequence[_Segment]) -> dict[int, tuple[int, int]]:
    """Return the quarters of the measure that are divided in three, five or seven."""
    found: dict[int, tuple[int, int]] = {}
    for start, end, _ in segments:
        for place in (start, end):
            for prime, tuplet in _TUPLETS.items():
                if place.denominator % prime == 0:
                    found[int(place)] = tuplet
    return found


def _cut(
    start: Fraction, end: Fraction, tuplets: dict[int, tuple[int, int]], beat: Fraction
) -> list[tuple[Fraction, Fraction, int | None]]:
    """Cut a segment at the edges of tuplets, then into values: (onset, written length, tuplet's quarter)."""
    edges = sorted(
        {start, end} | {Fraction(q + side) for q in tuplets for side in (0, 1) if start < q + side < end}
    )
    pieces: list[tuple[Fraction, Fraction, int | None]] = []
    for a, b in pairwise(edges):
        tuplet = tuplets.get(int(a))
        factor = Fraction(tuplet[0], tuplet[1]) if tuplet else Fraction(1)
        at = a
        values = split_into_values(
            a % 1 * factor if tuplet else a, (b - a) * factor, Fraction(1, 2) if tuplet else beat
        )
        for value in values:
            pieces.append((at, value, int(a) if tuplet else None))
            at += value / factor
    return pieces
