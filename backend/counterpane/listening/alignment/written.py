"""The passage as the aligner sees it: its notes in order, and those of some measures around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from counterpane.model.piece import Hand, Hands, Note, Piece
from counterpane.model.practice import Passage

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Marks = NDArray[np.bool_]

_HANDS: tuple[Hand, Hand] = ("right", "left")
_ORNAMENT_REACH = 2
_ON_BEAT = 1e-6
_MEASURES_BEFORE = 1
_MEASURES_AFTER = 2


@dataclass(frozen=True, slots=True)
class Ornamented:
    """A note with a sign or grace notes: keys that its ornament may strike, by note index."""

    note: int
    keys: frozenset[int]
    start: float
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
    measure_starts: frozenset[float]
    beats: frozenset[float]
    groups: Ints
    """For each note the number of its onset in the passage."""

    group_onsets: Floats

    @cached_property
    def only_hand(self) -> Hand | None:
        """The hand that has all the notes, if one has."""
        return next((hand for hand in _HANDS if all(note.hand == hand for note in self.notes)), None)

    def source(self, note: int) -> int:
        """Return the note that stands for this one where both hands have it."""
        return self.twins.get(note, note)

    def is_in(self, note: int, hands: str) -> bool:
        """Whether the note belongs to what these hands play."""
        return hands in ("both", self.notes[note].hand)

    @cached_property
    def members(self) -> list[list[int]]:
        """Note indices of each onset."""
        table: list[list[int]] = [[] for _ in self.group_onsets]
        for index, group in enumerate(self.groups.tolist()):
            table[group].append(index)
        return table

    @cached_property
    def by_key(self) -> dict[int, list[int]]:
        """Note indices by key, in order; of twins the first."""
        table: dict[int, list[int]] = {}
        for index, key in enumerate(self.keys.tolist()):
            if index not in self.twins:
                table.setdefault(key, []).append(index)
        return table

    @cached_property
    def by_group_and_key(self) -> dict[tuple[int, int], list[int]]:
        """Note indices by onset number and key."""
        table: dict[tuple[int, int], list[int]] = {}
        for index, (group, key) in enumerate(zip(self.groups.tolist(), self.keys.tolist(), strict=True)):
            table.setdefault((group, key), []).append(index)
        return table


def read_written(piece: Piece, passage: Passage, hands: Hands) -> Written:
    """Return the notes of the passage in the given hands, a measure before it and two after it."""
    measures = _MeasureTable(piece)
    all_onsets = np.array([float(note.onset) for note in piece.notes])
    wanted = (measures.numbers >= passage.first_measure) & (measures.numbers <= passage.last_measure)
    asked = wanted[measures.index_at(all_onsets)]
    inside = _widened(wanted)[measures.index_at(all_onsets)].tolist()
    chosen = [
        (onset, note.hand != "right", note.midi, number)
        for number, (note, onset) in enumerate(zip(piece.notes, all_onsets.tolist(), strict=True))
        if inside[number] and hands in ("both", note.hand)
    ]
    chosen.sort()
    notes = tuple(piece.notes[number] for *_, number in chosen)
    of_drill = [passage.hands in ("both", note.hand) for note in notes]
    onsets = np.array([onset for onset, *_ in chosen])
    keys = np.array([key for _, _, key, _ in chosen], dtype=np.int64)
    group_onsets, groups = np.unique(onsets, return_inverse=True)
    return Written(
        notes=notes,
        onsets=onsets,
        keys=keys,
        asked=asked[[number for *_, number in chosen]] & np.array(of_drill, dtype=bool),
        right=np.array([not is_left for _, is_left, _, _ in chosen], dtype=bool),
        ornamented=_ornamented(piece, notes),
        twins=_twins(onsets, keys),
        measure_starts=frozenset(measures.onsets.tolist()),
        beats=frozenset(group_onsets[measures.on_beat(group_onsets)].tolist()) if notes else frozenset(),
        groups=groups.astype(np.int64),
        group_onsets=group_onsets,
    )


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
        self.onsets = np.array([float(measure.onset) for measure in piece.measures])
        self.numbers = np.array([measure.number for measure in piece.measures])
        self.padding = np.array([float(measure.padding) for measure in piece.measures])
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
            found.append(Ornamented(index, frozenset(keys), float(note.onset), float(note.end)))
    return tuple(found)
