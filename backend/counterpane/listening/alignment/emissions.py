"""What a struck key costs at each onset of a layer: to be played there, to be added there, to enter by a jump."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from counterpane.listening.alignment import costs
from counterpane.listening.alignment.positions import Positions
from counterpane.listening.alignment.written import Floats, Marks, Ornamented, Written

_WRONG_KEY = costs.wrong_key_costs()


@dataclass(frozen=True)
class Emissions:
    """Costs of a struck key: to take a position of an onset, to enter there by a jump, to add it there.

    Each table has a row for every key that occurs, which `row` finds, and a column for each onset of each layer.
    """

    row: dict[int, int]
    take: Floats
    enter: Floats
    stay: Floats
    stay_plainly: Floats
    """The same as `stay`, without ornaments."""


def emissions(written: Written, positions: Positions, keys: Sequence[int]) -> Emissions:
    """Tabulate the costs of the keys that were struck."""
    unique = sorted(set(keys))
    distance = np.array(unique)[:, None] - written.keys[positions.cluster_notes][None, :] + 127
    take = np.minimum.reduceat(_WRONG_KEY[distance], positions.cluster_starts, axis=1)
    written_here = take == 0.0
    stay = np.where(_near(written_here, positions), costs.OUT_OF_TURN, costs.ADDED)
    _allow_corrections(stay, take, positions)
    plain = stay.copy()
    _allow_ornaments(stay, written, positions, unique)
    _allow_second_strokes(stay, written, positions, unique)
    likely_place = positions.entry < costs.JUMP_TO_BEAT
    enter = np.where(written_here | likely_place, positions.entry + take, np.inf)
    _allow_ornamented_beginnings(enter, written, positions, unique)
    return Emissions({key: row for row, key in enumerate(unique)}, take, enter, stay, plain)


def _near(written_here: Marks, positions: Positions) -> Marks:
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


def _allow_ornamented_beginnings(
    enter: Floats, written: Written, positions: Positions, keys: Sequence[int]
) -> None:
    """Let a jump lead to an ornamented note by any key of its ornament: a trill may begin with the upper one."""
    groups = positions.group[positions.cluster_starts]
    for ornamented in written.ornamented:
        here = (groups == written.groups[ornamented.note]) & _heard(ornamented, written, positions)
        for row, key in enumerate(keys):
            if key in ornamented.keys:
                enter[row, here] = np.minimum(enter[row, here], positions.entry[here] + costs.ORNAMENT)


def _heard(ornamented: Ornamented, written: Written, positions: Positions) -> Marks:
    """Mark the onsets of the layers in which an ornamented note is played."""
    hands = np.array(positions.layers)[positions.layer[positions.cluster_starts]]
    return np.asarray((hands == "both") | (hands == written.notes[ornamented.note].hand))


def _allow_ornaments(stay: Floats, written: Written, positions: Positions, keys: Sequence[int]) -> None:
    onsets = written.group_onsets[positions.group[positions.cluster_starts]]
    for ornamented in written.ornamented:
        before = written.group_onsets[max(0, int(written.groups[ornamented.note]) - 1)]
        span = (onsets >= before) & (onsets <= ornamented.end) & _heard(ornamented, written, positions)
        for row, key in enumerate(keys):
            if key in ornamented.keys:
                stay[row, span] = costs.ORNAMENT
