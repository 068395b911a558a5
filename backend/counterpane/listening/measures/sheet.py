"""The written side of an attempt: the notes that were asked for, with their onsets as floats for quick look-up.

Onsets here are quarters from the start of the piece. Equal fractions give equal floats, so that they may be
compared and used as keys; `place` goes back to the exact one.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from counterpane.model.piece import Hand, Note, Piece, Place

Floats = NDArray[np.float64]

HANDS: tuple[Hand, Hand] = ("right", "left")


@dataclass(frozen=True)
class Sheet:
    """The passage's notes for the hands that were asked (`expected`, in written order), and where they stand."""

    piece: Piece
    expected: tuple[Note, ...]

    @cached_property
    def onset_of(self) -> dict[str, float]:
        """Written onset of each expected note, by its id."""
        return {note.id: float(note.onset) for note in self.expected}

    @cached_property
    def end_of(self) -> dict[str, float]:
        """Written end of each expected note, by its id; as exact as the fraction, and quicker."""
        return {note.id: _end(note) for note in self.expected}

    @cached_property
    def order(self) -> dict[str, int]:
        """Place of each expected note in written order, by its id."""
        return {note.id: index for index, note in enumerate(self.expected)}

    @cached_property
    def loose(self) -> frozenset[str]:
        """Ids of notes whose timing the score does not fix: ornamented ones, and those after grace notes."""
        graced = {grace.principal for grace in self.piece.graces}
        return frozenset(graced | {note.id for note in self.expected if note.ornaments})

    @cached_property
    def _at(self) -> dict[float, list[Note]]:
        groups: dict[float, list[Note]] = defaultdict(list)
        for note in self.expected:
            groups[self.onset_of[note.id]].append(note)
        return dict(groups)

    @cached_property
    def onsets(self) -> tuple[float, ...]:
        """The written onsets, each once."""
        return tuple(self._at)

    @cached_property
    def rank(self) -> dict[float, int]:
        """The written onsets counted from 0."""
        return {onset: rank for rank, onset in enumerate(self.onsets)}

    @cached_property
    def hands(self) -> tuple[Hand, ...]:
        """The hands that were asked to play and have notes here."""
        present = {note.hand for note in self.expected}
        return tuple(hand for hand in HANDS if hand in present)

    @cached_property
    def _of_hand(self) -> dict[Hand, tuple[list[float], list[Note]]]:
        rows = {hand: [note for note in self.expected if note.hand == hand] for hand in HANDS}
        return {hand: ([self.onset_of[note.id] for note in row], row) for hand, row in rows.items()}

    @cached_property
    def rank_in_hand(self) -> dict[Hand, dict[float, int]]:
        """For each hand, its written onsets counted from 0: neighbours differ by one."""
        return {
            hand: {onset: rank for rank, onset in enumerate(dict.fromkeys(onsets))}
            for hand, (onsets, _) in self._of_hand.items()
        }

    @cached_property
    def chords(self) -> frozenset[tuple[Hand, float]]:
        """Where a hand has more than one note to strike: such onsets spread, and that is not unevenness."""
        counts = Counter((note.hand, self.onset_of[note.id]) for note in self.expected)
        return frozenset(spot for spot, count in counts.items() if count > 1)

    @cached_property
    def unisons(self) -> dict[str, tuple[Note, ...]]:
        """For each note that shares its key and onset with others, by its id: the others; one stroke plays all."""
        groups: dict[tuple[float, int], list[Note]] = defaultdict(list)
        for note in self.expected:
            groups[self.onset_of[note.id], note.midi].append(note)
        shared = [group for group in groups.values() if len(group) > 1]
        return {one.id: tuple(note for note in group if note is not one) for group in shared for one in group}

    @cached_property
    def after_fermatas(self) -> frozenset[float]:
        """Onsets of what follows a fermata: the time before them is free."""
        return frozenset(self.end_of[note.id] for note in self.expected if note.fermata)

    def notes_at(self, onset: float) -> tuple[Note, ...]:
        """Return the expected notes that are written at an onset."""
        return tuple(self._at[onset])

    def notes_between(self, hand: Hand, first: float, last: float) -> list[Note]:
        """Return one hand's expected notes from onset `first` to onset `last`, both included."""
        onsets, row = self._of_hand[hand]
        return row[bisect_left(onsets, first) : bisect_right(onsets, last)]

    def place(self, onset: float) -> Place:
        """Return the place of a written onset."""
        if onset not in self._places:
            self._places[onset] = self.piece.place(self._at[onset][0].onset)
        return self._places[onset]

    @cached_property
    def _places(self) -> dict[float, Place]:
        return {}

    def measure_number(self, onset: float) -> int:
        """Return the printed number of the measure that holds a written onset."""
        return self._measure_numbers[onset]

    @cached_property
    def _measure_numbers(self) -> dict[float, int]:
        return {onset: self.piece.measures[self._measure_index(onset)].number for onset in self.onsets}

    def begins_measure(self, onset: float) -> bool:
        """Tell whether an onset is the first of those written in its measure."""
        rank = self.rank[onset]
        return rank == 0 or self._measure_index(onset) > self._measure_index(self.onsets[rank - 1])

    def pair_places(self, onsets: Floats, values: Floats) -> Floats:
        """Return for notes of these values (quarters) whether each is the first (0) or second (1) of a pair.

        A pair shares a beat, or an equal part of one. NaN where such notes do not go in twos.
        """
        index = np.maximum(np.searchsorted(self._measure_starts, onsets, side="right") - 1, 0)
        first_beat, beat = self._beats[index].T
        pairs, place = (beat / (2 * values)).round(6), ((onsets - first_beat) / values).round(6)
        fits = (pairs >= 1) & (pairs % 1 == 0) & (place % 1 == 0)
        return np.where(fits, place % 2, np.nan)

    @cached_property
    def _beats(self) -> Floats:
        """Where each measure's first beat is (in a pickup: would be), and how long a beat is, in quarters."""
        return np.array([(float(m.onset - m.padding), 4 / m.beat_unit) for m in self.piece.measures])

    def span_of_measure(self, number: int) -> tuple[float, float]:
        """Return the first and last onset in a measure (as printed), or of everything when it has none."""
        inside = [onset for onset in self.onsets if self.measure_number(onset) == number]
        return (inside[0], inside[-1]) if inside else (self.onsets[0], self.onsets[-1])

    def _measure_index(self, onset: float) -> int:
        return max(0, bisect_right(self._measure_starts, onset) - 1)

    @cached_property
    def _measure_starts(self) -> list[float]:
        return [float(measure.onset) for measure in self.piece.measures]


def _end(note: Note) -> float:
    onset, duration = note.onset, note.duration
    ticks = onset.numerator * duration.denominator + duration.numerator * onset.denominator
    return ticks / (onset.denominator * duration.denominator)
