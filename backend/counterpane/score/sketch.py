"""Notation as data, for formats that carry none or that no library reads well: it is written out as MEI."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from counterpane.model.piece import Pitch


@dataclass(frozen=True, slots=True)
class Symbol:
    """One chord, note or rest (`pitches` empty) in a layer.

    `written` is the length that type and dots show, in quarters; inside a tuplet of `tuplet` = (3, 2) three of
    them sound as two. `opens` begins a new tuplet. `tied` are the places in `pitches` that go on in the next
    symbol. A grace has `grace` "slashed" or "unslashed" and takes no time.
    """

    pitches: tuple[Pitch, ...]
    written: Fraction
    tuplet: tuple[int, int] | None = None
    opens: bool = False
    tied: tuple[int, ...] = ()
    grace: str | None = None
    ornaments: tuple[str, ...] = ()
    articulations: tuple[str, ...] = ()
    fermata: bool = False

    @property
    def length(self) -> Fraction:
        """How long it sounds, in quarters."""
        if self.grace:
            return Fraction(0)
        return self.written * Fraction(self.tuplet[1], self.tuplet[0]) if self.tuplet else self.written


@dataclass(frozen=True, slots=True)
class Bar:
    """What all staves share in one measure; `meter` and `fifths` hold from here on, None where unchanged.

    `number` is None where the measures are to be counted.
    """

    number: int | None
    meter: tuple[int, int] | None = None
    fifths: int | None = None
    mode: Literal["major", "minor"] | None = None
    repeat_start: bool = False
    repeat_end: bool = False
    endings: tuple[int, ...] = ()


@dataclass(frozen=True)
class StaffLine:
    """One staff: its name, clef ("G" or "F") and, for each bar, its layers of symbols; a silent layer is empty."""

    label: str
    clef: Literal["G", "F"]
    bars: tuple[tuple[tuple[Symbol, ...], ...], ...]


@dataclass(frozen=True)
class Sketch:
    """A whole score; `braced` says that the staves are one keyboard part. Tempo in quarters a minute."""

    title: str
    composer: str
    bars: tuple[Bar, ...]
    staves: tuple[StaffLine, ...]
    braced: bool
    tempo: float | None = None


_BASES = tuple(Fraction(1, 64) * 2**power for power in range(10))
"""Plain note values from a 256th to a breve, in quarters."""
VALUES: dict[Fraction, tuple[Fraction, int]] = {
    base * (2 - Fraction(1, 2**dots)): (base, dots) for dots in (2, 1, 0) for base in _BASES
}
"""Each length that one symbol can show, with its plain value and its dots."""


def split_into_values(onset: Fraction, length: Fraction, beat: Fraction) -> tuple[Fraction, ...]:
    """Cut a length into values that one symbol each can show, in an order that shows the beats.

    `onset` is the place in the measure and `beat` the beat's length, in quarters. A length that starts off the
    beat and crosses one is cut there unless it is a plain value.
    """
    if length in VALUES and (
        VALUES[length][1] == 0 or onset % beat == 0 or onset // beat == (onset + length) // beat
    ):
        return (length,)
    to_beat = beat - onset % beat
    if onset % beat and to_beat < length:
        return (
            *split_into_values(onset, to_beat, beat),
            *split_into_values(onset + to_beat, length - to_beat, beat),
        )
    fitting = [value for value in VALUES if value <= length]
    if not fitting:
        return (length,)
    first = max(fitting)
    rest = length - first
    return (first, *split_into_values(onset + first, rest, beat)) if rest else (first,)
