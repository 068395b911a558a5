"""A piece as lines: each voice as arrays of onsets (ticks), scale steps and semitones.

Everything that recognises a subject works on these arrays, so that a transposition within the key is a
constant added to the steps. A chord within a voice is represented by its highest note, in the lowest voice of the
left hand by its lowest: the outer notes carry the lines (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm

import numpy as np
import numpy.typing as npt

from counterpane.model.piece import Measure, Note, Piece

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Beyond this many ticks in a quarter note (nested odd tuplets) onsets are rounded to the nearest tick.
_FINEST = 1_441_440


@dataclass(frozen=True)
class Line:
    """One voice as a line: note ids, onsets and ends in ticks, scale steps above C0, MIDI numbers."""

    voice: int
    notes: tuple[Note, ...]
    onset: Ints
    end: Ints
    step: Ints
    semitone: Ints

    def __len__(self) -> int:
        return len(self.notes)

    def part(self, first: int, size: int) -> Line:
        """Return `size` notes from `first` on as a line of their own."""
        span = slice(first, first + size)
        return Line(
            self.voice, self.notes[span], self.onset[span], self.end[span], self.step[span], self.semitone[span]
        )

    @cached_property
    def gap(self) -> Ints:
        """Ticks from each onset to the next, one fewer than there are notes."""
        return np.diff(self.onset)

    @cached_property
    def interval(self) -> Ints:
        """Scale steps from each note to the next, one fewer than there are notes."""
        return np.diff(self.step)

    @cached_property
    def triples(self) -> tuple[Ints, Ints]:
        """What `triples_of` says of every three notes in a row, from low to high, and the first note of each."""
        triples = triples_of(self.interval, self.gap)
        order = np.argsort(triples, kind="stable")
        return triples[order], order


def triples_of(interval: Ints, gap: Ints) -> Ints:
    """Return one number for each three notes in a row, equal where both intervals and both times are."""
    one = interval * 1_000_003 + gap
    return one[:-1] * 16_777_259 + one[1:]


@dataclass(frozen=True)
class Lines:
    """All lines of a piece from the highest voice to the lowest, on one grid of ticks."""

    ticks_per_quarter: int
    lines: tuple[Line, ...]
    measure_onset: Ints
    measure_beat: Ints
    measure_half: Ints

    @cached_property
    def apart(self) -> int:
        """Ticks by which `joined` sets each line behind the one before: more than any figure can bridge."""
        return 8 * max((int(line.end.max()) for line in self.lines), default=1)

    @cached_property
    def joined(self) -> Line:
        """All lines one after the other as if they were one, so that a figure is looked for in one pass.

        Note `i` of the joined line lies in `lines[index]` where `index` is `line_of_note[i]`.
        """
        shifts = [index * self.apart for index in range(len(self.lines))]
        return Line(
            voice=0,
            notes=tuple(note for line in self.lines for note in line.notes),
            onset=np.concatenate([line.onset + shift for line, shift in zip(self.lines, shifts, strict=True)]),
            end=np.concatenate([line.end + shift for line, shift in zip(self.lines, shifts, strict=True)]),
            step=np.concatenate([line.step for line in self.lines]),
            semitone=np.concatenate([line.semitone for line in self.lines]),
        )

    @cached_property
    def line_of_note(self) -> list[int]:
        """Index of the line that each note of `joined` lies in."""
        return [index for index, line in enumerate(self.lines) for _ in line.notes]

    @cached_property
    def first_of_line(self) -> list[int]:
        """Index in `joined` of the first note of the line that each note lies in."""
        firsts: list[int] = []
        for line in self.lines:
            firsts += [len(firsts)] * len(line)
        return firsts

    @cached_property
    def onset_of_note(self) -> list[int]:
        """Onset of each note of `joined` in its own line, in ticks."""
        return [onset for line in self.lines for onset in line.onset.tolist()]

    @cached_property
    def step_of_note(self) -> list[int]:
        """Scale steps above C0 of each note of `joined`."""
        return [step for line in self.lines for step in line.step.tolist()]

    def phase(self, times: Ints) -> Ints:
        """Return how far into its beat each time (in ticks of the joined line) falls."""
        return self._within(times, self.measure_beat)

    def standing(self, times: Ints) -> Ints:
        """Return how far into its half of the measure each time falls; a measure of uneven beats has no halves."""
        return self._within(times, self.measure_half)

    def _within(self, times: Ints, length: Ints) -> Ints:
        times = times % self.apart
        measure = np.maximum(np.searchsorted(self.measure_onset, times, side="right") - 1, 0)
        within: Ints = (times - self.measure_onset[measure]) % length[measure]
        return within

    def ticks(self, quarters: Fraction) -> int:
        """Convert quarters to ticks, rounded to the nearest tick."""
        return round(quarters * self.ticks_per_quarter)


def lines_of(piece: Piece) -> Lines:
    """Return the piece's voices as arrays on the coarsest grid that holds every onset and end exactly."""
    denominators = {note.onset.denominator for note in piece.notes}
    denominators |= {note.duration.denominator for note in piece.notes}
    ticks_per_quarter = min(lcm(1, *denominators), _FINEST)
    by_voice: dict[int, list[Note]] = {}
    lowest = max((note.voice for note in piece.notes if note.hand == "left"), default=0)
    for note in piece.notes:
        line = by_voice.setdefault(note.voice, [])
        if line and line[-1].onset == note.onset:  # within one onset from low to high
            if note.voice == lowest:
                continue
            line.pop()
        line.append(note)
    return Lines(
        ticks_per_quarter=ticks_per_quarter,
        lines=tuple(line_of(voice, tuple(notes), ticks_per_quarter) for voice, notes in sorted(by_voice.items())),
        measure_onset=_whole([_ticks(one.onset - one.padding, ticks_per_quarter) for one in piece.measures]),
        measure_beat=_whole([max(1, 4 * ticks_per_quarter // one.beat_unit) for one in piece.measures]),
        measure_half=_whole([max(1, _half(one) * ticks_per_quarter // one.beat_unit) for one in piece.measures]),
    )


def line_of(voice: int, notes: tuple[Note, ...], ticks_per_quarter: int) -> Line:
    """Return notes of one voice, in time order, as arrays."""
    onset = _whole([_ticks(note.onset, ticks_per_quarter) for note in notes])
    return Line(
        voice=voice,
        notes=notes,
        onset=onset,
        end=onset + _whole([_ticks(note.duration, ticks_per_quarter) for note in notes]),
        step=_whole([note.pitch.diatonic for note in notes]),
        semitone=_whole([note.midi for note in notes]),
    )


def _half(measure: Measure) -> int:
    """Return four times the beats in half of a measure, or in all of it where they are uneven."""
    return 2 * measure.beats if measure.beats % 2 == 0 else 4 * measure.beats


def _ticks(quarters: Fraction, ticks_per_quarter: int) -> int:
    whole, rest = divmod(ticks_per_quarter * quarters.numerator, quarters.denominator)
    return whole + (2 * rest >= quarters.denominator)


def _whole(values: list[int]) -> Ints:
    return np.array(values, dtype=np.int64)
