"""Dividing one stream of notes between two hands, by the assignment that costs least over the whole piece.

At each onset a boundary separates the hands: what sounds below it is the left hand's. The boundary moves freely
from onset to onset; dynamic programming (Viterbi) over all places at every onset finds the path of least cost. A
hand pays for stretching beyond an octave, for more notes than fingers, for resting while the other plays two
notes, and for lying far into the other's register; a step of the path pays for moving, for a line that jumps from
hand to hand, and, heavily, for a held note that changes hands. The weights are ours, from common practice; see
tests/score/test_division.py for how often they are right.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from counterpane.model.piece import Hand

_PLACES = np.arange(21, 110)
"""Boundaries: MIDI numbers at and above belong to the right hand. 109 leaves all to the left."""
_REACH = 12
_STRETCH = 2.0
_FINGERS, _TOO_MANY = 5, 10.0
_RESTING = 4.0
_FAR, _RIGHT_DOWN_TO, _LEFT_UP_TO = 0.05, 55, 65
_MOVING = 0.05
_HELD = 20.0
_LINE = ((2, 2.0), (4, 1.5), (7, 0.8), (12, 0.3))
"""Price of giving the next note of a line to the other hand, by the interval in semitones up to which it holds."""

Timed = tuple[Fraction, Fraction, int]
"""Onset and end in quarters, MIDI number."""
_Costs = NDArray[np.float64]


def divide_notes(notes: Sequence[Timed]) -> list[Hand]:
    """Say for each note, in order of onset, which hand plays it."""
    if not notes:
        return []
    slices = _slices(notes)
    above = {midi: (midi >= _PLACES).astype(np.float64) for midi in {midi for *_, midi in notes}}
    moving = _MOVING * np.abs(_PLACES[:, None] - _PLACES[None, :])
    cost = _slice_cost([notes[i][2] for i in slices[0][1]])
    back: list[NDArray[np.intp]] = []
    for (_, before, _), (_, sounding, new) in pairwise(slices):
        step = moving + _step_cost(notes, before, sounding, new, above)
        total = cost[:, None] + step
        back.append(total.argmin(axis=0))
        cost = total.min(axis=0) + _slice_cost([notes[i][2] for i in sounding])
    boundaries = _path(cost, back)
    hands: list[Hand] = ["right"] * len(notes)
    for (_, _, new), place in zip(slices, boundaries, strict=True):
        for i in new:
            hands[i] = "right" if notes[i][2] >= _PLACES[place] else "left"
    return hands


def _slices(notes: Sequence[Timed]) -> list[tuple[Fraction, list[int], list[int]]]:
    """Return for each onset: its time, what sounds then, and what begins then (places in `notes`)."""
    slices: list[tuple[Fraction, list[int], list[int]]] = []
    sounding: list[int] = []
    i = 0
    while i < len(notes):
        onset = notes[i][0]
        new = []
        while i < len(notes) and notes[i][0] == onset:
            new.append(i)
            i += 1
        sounding = [j for j in sounding if notes[j][1] > onset] + new
        slices.append((onset, sounding, new))
    return slices


def _slice_cost(midis: Sequence[int]) -> _Costs:
    """Return what each boundary costs while these notes sound together."""
    ordered = sorted(midis)
    by_count = np.array([_hands_cost(ordered[:k], ordered[k:]) for k in range(len(ordered) + 1)])
    costs: _Costs = by_count[np.searchsorted(ordered, _PLACES, side="left")]
    return costs


def _hands_cost(left: Sequence[int], right: Sequence[int]) -> float:
    cost = 0.0
    for hand in (left, right):
        if hand:
            cost += _STRETCH * max(0, hand[-1] - hand[0] - _REACH) + _TOO_MANY * max(0, len(hand) - _FINGERS)
    if (not left or not right) and len(left) + len(right) > 1:
        cost += _RESTING
    cost += _FAR * sum(max(0, _RIGHT_DOWN_TO - midi) for midi in right)
    return cost + _FAR * sum(max(0, midi - _LEFT_UP_TO) for midi in left)


def _step_cost(
    notes: Sequence[Timed],
    before: Sequence[int],
    sounding: Sequence[int],
    new: Sequence[int],
    above: dict[int, _Costs],
) -> _Costs:
    """Return what each pair of boundaries costs between two onsets: rows the earlier, columns the later."""
    cost = np.zeros((len(_PLACES), len(_PLACES)))
    begun = set(new)
    for i in sounding:
        if i not in begun:
            cost += _HELD * _changes(above[notes[i][2]], above[notes[i][2]])
    ended = [i for i in before if notes[i][1] <= notes[new[0]][0]]
    for i in new:
        line = min(ended, key=lambda j: abs(notes[j][2] - notes[i][2]), default=None)
        if line is not None and (price := _line_price(notes[line], notes[i])):
            cost += price * _changes(above[notes[line][2]], above[notes[i][2]])
    return cost


def _line_price(earlier: Timed, later: Timed) -> float:
    if later[0] - earlier[1] > 1:
        return 0.0
    interval = abs(later[2] - earlier[2])
    return next((price for widest, price in _LINE if interval <= widest), 0.0)


def _changes(earlier: _Costs, later: _Costs) -> _Costs:
    """1 where a note above or below the earlier boundary lies on the other side of the later one."""
    return np.abs(earlier[:, None] - later[None, :])


def _path(cost: _Costs, back: Sequence[NDArray[np.intp]]) -> list[int]:
    place = int(cost.argmin())
    path = [place]
    for step in reversed(back):
        place = int(step[place])
        path.append(place)
    return path[::-1]
