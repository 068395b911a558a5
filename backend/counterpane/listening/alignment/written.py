"""The passage as the aligner sees it: notes in order, and positions in three layers.

A layer is what one way of playing has to play: both hands, the right alone, the left alone. Within a layer a
*position* stands for one more note of an onset played: an onset with three notes has three positions, and
any of its keys may take any of them, so that chords and hands struck together have no order. Positions of
all layers lie one after the other in one array; `ramp` grows by the cost of a note left out from one to the
next and by far more between layers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from counterpane.listening.alignment import costs
from counterpane.model.piece import Hands, Note, Piece
from counterpane.model.practice import Passage

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BETWEEN_LAYERS = 1e6
_WRONG_KEY = costs.wrong_key_costs()
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
    in quarters.
    `twins` maps a note to another of the same key and onset in the other hand: one stroke plays both.
    """

    notes: tuple[Note, ...]
    onsets: Floats
    keys: Ints
    right: NDArray[np.bool_]
    asked: NDArray[np.bool_]
    ornamented: tuple[Ornamented, ...]
    twins: dict[int, int]
    measure_starts: frozenset[float]
    beats: frozenset[float]
    groups: Ints
    """For each note the number of its onset in the passage."""

    group_onsets: Floats

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


@dataclass(frozen=True)
class Positions:
    """All positions of the layers in use; arrays of one length. `group` is the onset's number in `Written`."""

    layers: tuple[Hands, ...]
    layer: Ints
    group: Ints
    inner: NDArray[np.bool_]
    ramp: Floats
    entry: Floats
    link: Ints | None
    link_cost: Floats
    cluster: Ints
    """Number of the onset within all layers: the row of the emission tables."""

    cluster_starts: Ints
    cluster_notes: Ints
    """Note indices, cluster after cluster."""


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


def _widened(wanted: NDArray[np.bool_]) -> NDArray[np.bool_]:
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

    def on_beat(self, onsets: Floats) -> NDArray[np.bool_]:
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


def lay_out(written: Written, layers: Sequence[Hands]) -> Positions:
    """Return the positions of the given layers."""
    members = [_members(written, hands) for hands in layers]
    notes = np.concatenate(members)
    layer = np.repeat(np.arange(len(layers)), [len(part) for part in members])
    group = written.groups[notes]
    first = np.ones(len(notes), dtype=bool)
    first[1:] = (group[1:] != group[:-1]) | (layer[1:] != layer[:-1])
    ramp = costs.LEFT_OUT * np.arange(len(notes)) + BETWEEN_LAYERS * layer
    link, link_cost = _links(layers, layer, group, first)
    return Positions(
        layers=tuple(layers),
        layer=layer,
        group=group,
        inner=~first,
        ramp=ramp,
        entry=np.where(first, _entry_costs(written, layers, layer, group), np.inf),
        link=link,
        link_cost=link_cost,
        cluster=np.cumsum(first) - 1,
        cluster_starts=np.flatnonzero(first),
        cluster_notes=notes,
    )


def _members(written: Written, hands: Hands) -> Ints:
    """Return the notes of one layer in order; of twins only one is needed where both hands play."""
    if hands == "both":
        return np.array(
            [index for index in range(len(written.notes)) if index not in written.twins], dtype=np.int64
        )
    return np.flatnonzero(written.right == (hands == "right"))


def _entry_costs(written: Written, layers: Sequence[Hands], layer: Ints, group: Ints) -> Floats:
    def cost(onset: float) -> float:
        if onset in written.measure_starts:
            return costs.JUMP_TO_MEASURE
        return costs.JUMP_TO_BEAT if onset in written.beats else costs.JUMP_ANYWHERE

    by_group = np.array([cost(onset) for onset in written.group_onsets.tolist()])
    entry = by_group[group]
    alone = np.array([costs.ONE_HAND if hands != "both" and "both" in layers else 0.0 for hands in layers])
    asked = np.isin(group, written.groups[written.asked])
    for number in range(len(layers)):
        inside = group[(layer == number) & asked]
        if len(inside):
            entry[(layer == number) & (group == inside[0])] = costs.JUMP_TO_PASSAGE
    return np.asarray(entry + alone[layer] + np.where(asked, 0.0, costs.BEYOND_PASSAGE))


def _links(
    layers: Sequence[Hands], layer: Ints, group: Ints, first: NDArray[np.bool_]
) -> tuple[Ints | None, Floats]:
    """Link positions where a hand may drop out or be taken up again without leaving the place.

    From both hands to one: from the first position of the onset. From one hand to both: to the last
    position of the onset, or to the one before it from the left hand where both hands play.
    """
    count = len(layer)
    if "both" not in layers or len(layers) == 1:
        return None, np.zeros(count)
    link, cost = np.arange(count), np.full(count, np.inf)
    both = [index for index in range(count) if layers[layer[index]] == "both"]
    first_of = {int(group[index]): index for index in both if first[index]}
    last_of = {int(group[index]): index for index in both}
    for index in range(count):
        if layers[layer[index]] == "both":
            continue
        here = int(group[index])
        link[index], cost[index] = first_of[here], costs.DROP_HAND
        target = last_of[here]
        if np.isfinite(cost[target]) and layers[layer[link[target]]] != layers[layer[index]]:
            target = max(target - 1, first_of[here])
        link[target], cost[target] = index, costs.TAKE_UP_HAND
    return link, cost


@dataclass(frozen=True)
class Emissions:
    """Costs of a struck key by position: to take the position, to enter there by a jump, to add it there.

    Each table has a row for every key that occurs; `row` finds it.
    """

    row: dict[int, int]
    take: Floats
    enter: Floats
    stay: Floats
    stay_after_pause: Floats
    """The same as `stay`, without ornaments."""


def emissions(written: Written, positions: Positions, keys: Sequence[int]) -> Emissions:
    """Tabulate the costs of the keys that were struck."""
    unique = sorted(set(keys))
    distance = np.array(unique)[:, None] - written.keys[positions.cluster_notes][None, :] + 127
    take = np.minimum.reduceat(_WRONG_KEY[distance], positions.cluster_starts, axis=1)
    written_here = take == 0.0
    stay = np.where(_near(written_here, positions), costs.OUT_OF_TURN, costs.ADDED)
    _allow_corrections(stay, take, positions)
    after_pause = stay.copy()
    _allow_ornaments(stay, written, positions, unique)
    by_wrong_key = (take <= costs.ENTER_BY_WRONG_KEY) & (
        positions.entry[positions.cluster_starts] < costs.JUMP_TO_BEAT
    )
    may_enter = (written_here | by_wrong_key)[:, positions.cluster]
    _allow_second_strokes(stay, written, positions, unique)
    enter = np.where(may_enter, positions.entry + take[:, positions.cluster], np.inf)
    return Emissions(
        {key: row for row, key in enumerate(unique)},
        take[:, positions.cluster],
        enter,
        stay[:, positions.cluster],
        after_pause[:, positions.cluster],
    )


def _near(written_here: NDArray[np.bool_], positions: Positions) -> NDArray[np.bool_]:
    """Mark keys that are written at an onset, or at one of the two before or after it."""
    near = written_here.copy()
    layer = positions.layer[positions.cluster_starts]
    for distance in (1, 2):
        same = layer[distance:] == layer[:-distance]
        near[:, distance:] |= written_here[:, :-distance] & same
        near[:, :-distance] |= written_here[:, distance:] & same
    return near


def _allow_corrections(stay: Floats, take: Floats, positions: Positions) -> None:
    """Let a key near one that comes next, or near another of the same onset, be put right."""
    slip = np.where(take > 0.0, take, np.inf)
    layer = positions.layer[positions.cluster_starts]
    several = np.diff(positions.cluster_starts, append=len(positions.cluster_notes)) > 1
    near = np.where(several, slip, np.inf)
    near[:, :-1] = np.where(layer[1:] == layer[:-1], np.minimum(near[:, :-1], slip[:, 1:]), near[:, :-1])
    np.minimum(stay, near + costs.PUT_RIGHT, out=stay)


def _allow_second_strokes(stay: Floats, written: Written, positions: Positions, keys: Sequence[int]) -> None:
    """Let the second stroke of a key that both hands are written to strike at one onset be as good as none."""
    groups = positions.group[positions.cluster_starts]
    for note in written.twins:
        if int(written.keys[note]) in keys:
            stay[keys.index(int(written.keys[note])), groups == written.groups[note]] = costs.ORNAMENT


def _allow_ornaments(stay: Floats, written: Written, positions: Positions, keys: Sequence[int]) -> None:
    onsets = written.group_onsets[positions.group[positions.cluster_starts]]
    for ornamented in written.ornamented:
        before = written.group_onsets[max(0, int(written.groups[ornamented.note]) - 1)]
        span = (onsets >= before) & (onsets <= ornamented.end)
        rows = [row for row, key in enumerate(keys) if key in ornamented.keys]
        stay[np.ix_(rows, np.flatnonzero(span))] = costs.ORNAMENT
