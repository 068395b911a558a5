"""The passage as the aligner sees it: its notes in order, and those of some measures around it."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import compress

import numpy as np
from numpy.typing import NDArray

from counterpane.model.piece import Hands, Note, Piece
from counterpane.model.practice import Passage

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Marks = NDArray[np.bool_]

_ORNAMENT_REACH = 2
_ON_BEAT = 1e-6
_MEASURES_BEFORE = 1
_MEASURES_AFTER = 2


@dataclass(frozen=True, slots=True)
class Ornamented:
    """A note with a sign or grace notes: keys that its ornament may strike, by note index."""

    note: int
    keys: frozenset[int]
    end: float


@dataclass(frozen=True)
class Written:
    """The notes of a passage, and of some measures around it, in order of onset, hand and pitch.

    Players start at an upbeat or go on past the end; `asked` marks the notes that belong to the drill. Onsets are
    in quarters. `twins` maps a note to another of the same key and onset in the other hand: one stroke plays both.
    """

    notes: tuple[Note, ...]
    onsets: Floats
    keys: Ints
    right: Marks
    asked: Marks
    ornamented: tuple[Ornamented, ...]
    twins: dict[int, int]
    measure_starts: tuple[float, ...]
    """Onsets of the measures of the piece."""

    groups: Ints
    """For each note the number of its onset in the passage."""

    group_onsets: Floats
    on_barline: Marks
    on_beat: Marks
    """Which onsets begin a measure, or a beat."""

    def is_in(self, note: int, hands: str) -> bool:
        """Whether the note belongs to what these hands play."""
        return hands in ("both", self.notes[note].hand)

    def members_in(self, group: int, hands: str) -> list[int]:
        """Return the notes of an onset that these hands play."""
        members = self.members[group]
        return members if hands == "both" else [note for note in members if self.notes[note].hand == hands]

    def begun_from(self, group: int, most: int | None = None) -> int:
        """Return the onset that begins the measure of this one, or one nearer to it by at most so many onsets."""
        first = 0 if most is None else max(0, group - most)
        while group > first and not self.on_barline[group]:
            group -= 1
        return group

    @cached_property
    def onset_of(self) -> list[float]:
        """Onset of each note in quarters."""
        onsets: list[float] = self.onsets.tolist()
        return onsets

    @cached_property
    def length_of(self) -> list[float]:
        """Length of each note in quarters."""
        return [float(note.duration) for note in self.notes]

    @cached_property
    def key_of(self) -> list[int]:
        """Key of each note."""
        keys: list[int] = self.keys.tolist()
        return keys

    @cached_property
    def group_of(self) -> list[int]:
        """Number of each note's onset in the passage."""
        groups: list[int] = self.groups.tolist()
        return groups

    @cached_property
    def onset_of_group(self) -> list[float]:
        """The onsets of the passage in quarters, each once."""
        onsets: list[float] = self.group_onsets.tolist()
        return onsets

    @cached_property
    def members(self) -> list[list[int]]:
        """Note indices of each onset."""
        table: list[list[int]] = [[] for _ in self.group_onsets]
        for index, group in enumerate(self.group_of):
            table[group].append(index)
        return table

    @cached_property
    def by_key(self) -> dict[int, list[int]]:
        """Note indices by key, in order; of twins the first."""
        table: dict[int, list[int]] = {}
        for index, key in enumerate(self.key_of):
            if index not in self.twins:
                table.setdefault(key, []).append(index)
        return table

    @cached_property
    def by_group_and_key(self) -> dict[tuple[int, int], list[int]]:
        """Note indices by onset number and key."""
        table: dict[tuple[int, int], list[int]] = {}
        for index, (group, key) in enumerate(zip(self.group_of, self.key_of, strict=True)):
            table.setdefault((group, key), []).append(index)
        return table


def read_written(piece: Piece, passage: Passage, hands: Hands) -> Written:
    """Return the notes of the passage in the given hands, a measure before it and two after it."""
    measures = _MeasureTable(piece)
    wanted = (measures.numbers >= passage.first_measure) & (measures.numbers <= passage.last_measure)
    wide = _widened(wanted)
    near = _notes_in(piece, np.flatnonzero(wide))
    onsets = _in_quarters([note.onset for note in near])
    right = np.array([note.hand == "right" for note in near], dtype=bool)
    index = measures.index_at(onsets)
    chosen = wide[index] & _of_hands(right, hands)
    notes = tuple(compress(near, chosen.tolist()))
    onsets, right, index = onsets[chosen], right[chosen], index[chosen]
    keys = np.array([note.midi for note in notes], dtype=np.int64)
    group_onsets, groups = np.unique(onsets, return_inverse=True)
    return Written(
        notes=notes,
        onsets=onsets,
        keys=keys,
        asked=wanted[index] & _of_hands(right, passage.hands),
        right=right,
        ornamented=_ornamented(piece, notes),
        twins=_twins(onsets, keys),
        measure_starts=tuple(measures.onsets.tolist()),
        groups=groups.astype(np.int64),
        group_onsets=group_onsets,
        on_barline=np.isin(group_onsets, measures.onsets),
        on_beat=measures.on_beat(group_onsets),
    )


def _of_hands(right: Marks, hands: Hands) -> Marks:
    return np.ones_like(right) if hands == "both" else right == (hands == "right")


def _in_quarters(lengths: Sequence[Fraction]) -> Floats:
    return np.array([length.numerator / length.denominator for length in lengths])


def _notes_in(piece: Piece, measures: Ints) -> Sequence[Note]:
    """Return the notes from the first to the last of some measures; the piece's last note ends the last one."""
    if not len(measures):
        return ()
    first, following = int(measures[0]), int(measures[-1]) + 1
    start = piece.measures[first].onset if first else Fraction(0)
    low = bisect_left(piece.notes, start, key=_onset)
    high = len(piece.notes)
    if following < len(piece.measures):
        high = bisect_left(piece.notes, piece.measures[following].onset, lo=low, key=_onset)
    return piece.notes[low:high]


def _onset(note: Note) -> Fraction:
    return note.onset


def _widened(wanted: Marks) -> Marks:
    wide = wanted.copy()
    for measures in range(1, _MEASURES_BEFORE + 1):
        wide[:-measures] |= wanted[measures:]
    for measures in range(1, _MEASURES_AFTER + 1):
        wide[measures:] |= wanted[:-measures]
    return wide


class _MeasureTable:
    """The measures of a piece as arrays: onsets in quarters, printed numbers, meters."""

    def __init__(self, piece: Piece) -> None:
        self.onsets = _in_quarters([measure.onset for measure in piece.measures])
        self.numbers = np.array([measure.number for measure in piece.measures])
        self.padding = _in_quarters([measure.padding for measure in piece.measures])
        self.beat_quarters = np.array([4.0 / measure.beat_unit for measure in piece.measures])

    def index_at(self, onsets: Floats) -> Ints:
        """Return the measure that holds each onset."""
        return np.maximum(0, np.searchsorted(self.onsets, onsets, side="right") - 1)

    def on_beat(self, onsets: Floats) -> Marks:
        """Mark the onsets that fall on a beat of their measure."""
        index = self.index_at(onsets)
        beats = (onsets - self.onsets[index] + self.padding[index]) / self.beat_quarters[index]
        return np.asarray(np.abs(beats - np.round(beats)) < _ON_BEAT)


def _twins(onsets: Floats, keys: Ints) -> dict[int, int]:
    first: dict[tuple[float, int], int] = {}
    twins: dict[int, int] = {}
    for index, place in enumerate(zip(onsets.tolist(), keys.tolist(), strict=True)):
        other = first.setdefault(place, index)
        if other != index:
            twins[index] = other
    return twins


def _ornamented(piece: Piece, notes: Sequence[Note]) -> tuple[Ornamented, ...]:
    graces: dict[str, set[int]] = {}
    for grace in piece.graces:
        graces.setdefault(grace.principal, set()).add(grace.pitch.midi)
    found = []
    for index, note in enumerate(notes):
        keys = set(graces.get(note.id, ()))
        if note.ornaments:
            keys |= {note.midi + step for step in range(-_ORNAMENT_REACH, _ORNAMENT_REACH + 1)}
        if keys:
            found.append(Ornamented(index, frozenset(keys), float(note.end)))
    return tuple(found)
