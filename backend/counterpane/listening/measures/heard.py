"""One attempt as the measures see it: written notes paired with struck keys, pass by pass.

A pass is a stretch without a jump (one value of `EventResult.run`). Within it every written note has at most
one struck key: the one that played it as written, or else the last wrong key in its place; so that a
correction counts as a delay before the right note. An ornamented note has its first key. Notes whose timing the
score does not fix (ornamented ones and those with grace notes before them) are kept, but are not `plain`.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np

from counterpane.listening.measures.tempo_line import FEWEST_NOTES, TempoLine, find_line
from counterpane.model.assessment import Alignment, EventStatus
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.piece import Hand, Note, Piece, Place
from counterpane.model.practice import Passage

HANDS: tuple[Hand, Hand] = ("right", "left")


@dataclass(frozen=True, slots=True)
class Struck:
    """A written note and the key that stood for it in one pass; `plain` notes may be used for timing.

    `onset` and `end` are the written ones in quarters as floats: equal fractions are equal floats, and quick.
    """

    note: Note
    onset: float
    end: float
    played: PlayedNote
    status: EventStatus
    plain: bool


@dataclass(frozen=True)
class Pass:
    """What was struck between two jumps, in written order."""

    run: int
    struck: tuple[Struck, ...]

    @cached_property
    def by_hand(self) -> dict[Hand, tuple[Struck, ...]]:
        """The struck notes of each hand, in written order."""
        return {hand: tuple(s for s in self.struck if s.note.hand == hand) for hand in HANDS}

    @cached_property
    def asynchronies(self) -> tuple[tuple[float, float], ...]:
        """Written onset and left minus right (ms) wherever both hands have plain notes together."""
        right, left = (dict(self.onsets(hand)) for hand in HANDS)
        return tuple((onset, left[onset] - right[onset]) for onset in right if onset in left)

    def onsets(self, hand: Hand) -> list[tuple[float, float]]:
        """Return written onset (quarters) and time (ms) of one hand's plain notes; a chord has its median."""
        times: dict[float, list[float]] = defaultdict(list)
        for struck in self.by_hand[hand]:
            if struck.plain:
                times[struck.onset].append(struck.played.onset_ms)
        return [(onset, _median(group)) for onset, group in times.items()]

    @cached_property
    def merged_onsets(self) -> list[tuple[float, float]]:
        """Both hands' onsets as one row, the left hand's usual lateness taken off it."""
        late = _median([value for _, value in self.asynchronies]) if self.asynchronies else 0.0
        times: dict[float, list[float]] = defaultdict(list)
        for hand, shift in zip(HANDS, (0.0, late), strict=True):
            for onset, time in self.onsets(hand):
                times[onset].append(time - shift)
        return sorted((onset, sum(group) / len(group)) for onset, group in times.items())

    @cached_property
    def line(self) -> TempoLine | None:
        """The local tempo of both hands together, or None when fewer than four onsets can be used."""
        if len(self.merged_onsets) < FEWEST_NOTES:
            return None
        onsets, times = zip(*self.merged_onsets, strict=True)
        return find_line(np.array(onsets), np.array(times))

    @cached_property
    def pause_onsets(self) -> tuple[float, ...]:
        """Written onsets (quarters) before which the time line has a step."""
        return tuple(self.merged_onsets[index][0] for index in self.line.breaks) if self.line else ()


@dataclass(frozen=True)
class Heard:
    """An attempt, ready to be measured. `expected` are the passage's notes for the hands that were asked."""

    piece: Piece
    passage: Passage
    performance: Performance
    alignment: Alignment
    expected: tuple[Note, ...]
    passes: tuple[Pass, ...]

    @property
    def hands(self) -> tuple[Hand, ...]:
        """The hands that were asked to play and have notes here."""
        present = {note.hand for note in self.expected}
        return tuple(hand for hand in HANDS if hand in present)

    @cached_property
    def _exact(self) -> dict[float, Fraction]:
        return {float(note.onset): note.onset for note in self.piece.notes}

    def place(self, onset: float) -> Place:
        """Return the place of a written onset that some note of the piece has."""
        return self.piece.place(self._exact[onset])

    def measure_number(self, onset: float) -> int:
        """Return the printed number of the measure that holds an onset."""
        starts, numbers = self._measure_starts
        return numbers[max(0, bisect_right(starts, onset) - 1)]

    def begins_measure(self, onset: float) -> bool:
        """Tell whether an onset is the first of those written in its measure."""
        rank = bisect_left(self.onsets, onset)
        return rank == 0 or bisect_right(self._measure_starts[0], onset) > bisect_right(
            self._measure_starts[0], self.onsets[rank - 1]
        )

    @cached_property
    def _measure_starts(self) -> tuple[list[float], list[int]]:
        measures = self.piece.measures
        return [float(measure.onset) for measure in measures], [measure.number for measure in measures]

    def notes_at(self, onset: float) -> tuple[Note, ...]:
        """Return the expected notes that are written at an onset."""
        return tuple(note for at, note in self._timed if at == onset)

    def expected_in(self, hand: Hand, first: float, last: float) -> tuple[Note, ...]:
        """Return one hand's expected notes from onset `first` to onset `last`, both included."""
        return tuple(note for at, note in self._timed if note.hand == hand and first <= at <= last)

    @cached_property
    def _timed(self) -> tuple[tuple[float, Note], ...]:
        return tuple((float(note.onset), note) for note in self.expected)

    @cached_property
    def onsets(self) -> tuple[float, ...]:
        """The passage's written onsets, in quarters, each once."""
        return tuple(dict.fromkeys(at for at, _ in self._timed))

    @cached_property
    def after_fermatas(self) -> frozenset[float]:
        """Onsets of what follows a fermata: the time before them is free."""
        return frozenset(float(note.end) for note in self.expected if note.fermata)

    @cached_property
    def not_reached(self) -> frozenset[str]:
        """Ids of the notes that the player never came to."""
        return frozenset(note for note, status in self.statuses.items() if status == "not_reached")

    @cached_property
    def chords(self) -> frozenset[tuple[Hand, float]]:
        """Where a hand has more than one note to strike: such onsets spread, and that is not unevenness."""
        counts = Counter((note.hand, at) for at, note in self._timed)
        return frozenset(spot for spot, count in counts.items() if count > 1)

    @cached_property
    def rank_of_onset(self) -> dict[Hand, dict[float, int]]:
        """For each hand, its written onsets counted from 0: neighbours differ by one."""
        return {
            hand: {onset: rank for rank, onset in enumerate(dict.fromkeys(self._onsets_of(hand)))}
            for hand in HANDS
        }

    def _onsets_of(self, hand: Hand) -> list[float]:
        return [float(note.onset) for note in self.expected if note.hand == hand]

    @cached_property
    def has_touch(self) -> bool:
        """False when every key was struck with one and the same velocity, as instruments without touch send it."""
        return len({note.velocity for note in self.performance.notes}) > 1

    @cached_property
    def statuses(self) -> dict[str, str]:
        """What became of each written note, by its id."""
        return {result.note: result.status for result in self.alignment.notes}


def hear(piece: Piece, passage: Passage, performance: Performance, alignment: Alignment) -> Heard:
    """Pair written notes and struck keys pass by pass; every note that the alignment names must be the piece's."""
    ids = {result.note for result in alignment.notes}
    expected = tuple(note for note in piece.notes if note.id in ids)
    order = {note.id: index for index, note in enumerate(piece.notes)}
    loose = {grace.principal for grace in piece.graces} | {note.id for note in piece.notes if note.ornaments}
    pairs: dict[int, dict[str, Struck]] = defaultdict(dict)
    for result in alignment.events:
        if result.note is None:
            continue
        known = pairs[result.run].get(result.note)
        if known is None or (known.plain and (result.status != "replacement" or known.status == "replacement")):
            note, played = piece.by_id[result.note], performance.notes[result.event]
            pairs[result.run][result.note] = Struck(
                note, float(note.onset), float(note.end), played, result.status, result.note not in loose
            )
    passes = tuple(
        Pass(run, tuple(sorted(group.values(), key=lambda struck: order[struck.note.id])))
        for run, group in sorted(pairs.items())
    )
    return Heard(piece, passage, performance, alignment, expected, passes)


def _median(values: list[float]) -> float:
    return float(np.median(values)) if len(values) > 2 else sum(values) / len(values)
