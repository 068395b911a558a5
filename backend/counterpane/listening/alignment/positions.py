"""Positions: what there is to be played, in up to three layers.

A layer is what one way of playing has to play: both hands, the right alone, the left alone. Within a layer a
*position* stands for one more note of an onset played: an onset with three notes has three positions, and
any of its keys may take any of them, so that chords and hands struck together have no order. Positions of
all layers lie one after the other in one array; `ramp` grows by the cost of a note left out from one to the
next and by far more between layers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from counterpane.listening.alignment import costs
from counterpane.listening.alignment.written import Floats, Ints, Marks, Written
from counterpane.model.piece import Hands

BETWEEN_LAYERS = 1e6


@dataclass(frozen=True)
class Positions:
    """All positions of the layers in use. `group` is the onset's number in `Written`."""

    layers: tuple[Hands, ...]
    layer: Ints
    group: Ints
    inner: Marks
    ramp: Floats
    link: Ints | None
    link_cost: Floats
    cluster: Ints
    """Number of the onset within all layers: the column of the emission tables."""

    entry: Floats
    """What it costs to jump to each of these onsets."""

    cluster_starts: Ints
    cluster_notes: Ints
    """Note indices, cluster after cluster."""


def lay_out(written: Written) -> Positions:
    """Return the positions of all layers that the notes make."""
    layers = _layers(written)
    members = [_members(written, hands) for hands in layers]
    notes = np.concatenate(members)
    layer = np.repeat(np.arange(len(layers)), [len(part) for part in members])
    group = written.groups[notes]
    first = np.ones(len(notes), dtype=bool)
    first[1:] = (group[1:] != group[:-1]) | (layer[1:] != layer[:-1])
    starts = np.flatnonzero(first)
    ramp = costs.LEFT_OUT * np.arange(len(notes)) + BETWEEN_LAYERS * layer
    link, link_cost = _links(layer, group) if len(layers) > 1 else (None, np.zeros(len(notes)))
    return Positions(
        layers=layers,
        layer=layer,
        group=group,
        inner=~first,
        ramp=ramp,
        link=link,
        link_cost=link_cost,
        cluster=np.cumsum(first) - 1,
        entry=_entry_costs(written, layer[starts], group[starts]),
        cluster_starts=starts,
        cluster_notes=notes,
    )


def _layers(written: Written) -> tuple[Hands, ...]:
    if written.right.all():
        return ("right",)
    return ("both", "right", "left") if written.right.any() else ("left",)


def _members(written: Written, hands: Hands) -> Ints:
    """Return the notes of one layer in order; of twins only one is needed where both hands play."""
    if hands != "both":
        return np.flatnonzero(written.right == (hands == "right"))
    needed = np.ones(len(written.notes), dtype=bool)
    needed[list(written.twins)] = False
    return np.flatnonzero(needed)


def _entry_costs(written: Written, layer: Ints, group: Ints) -> Floats:
    """Return what it costs to jump to onsets, given by their layers and numbers."""
    by_group = np.where(
        written.on_barline,
        costs.JUMP_TO_MEASURE,
        np.where(written.on_beat, costs.JUMP_TO_BEAT, costs.JUMP_ANYWHERE),
    )
    entry = by_group[group]
    asked = np.zeros(len(by_group), dtype=bool)
    asked[written.groups[written.asked]] = True
    for number in range(int(layer[-1]) + 1):
        inside = group[(layer == number) & asked[group]]
        if len(inside):
            entry[(layer == number) & (group == inside[0])] = costs.JUMP_TO_PASSAGE
    return np.asarray(entry + costs.ONE_HAND * (layer > 0) + np.where(asked[group], 0.0, costs.BEYOND_PASSAGE))


def _links(layer: Ints, group: Ints) -> tuple[Ints, Floats]:
    """Link positions where a hand may drop out or be taken up again without leaving the place.

    From both hands to one: from the first position of the onset. From one hand to both: to the last
    position of the onset, or to the one before it from the left hand where both hands play.
    """
    both, right, left = (np.flatnonzero(layer == number) for number in range(3))
    first_of, last_of = np.zeros((2, int(group.max()) + 1), dtype=np.int64)
    last_of[group[both]] = both
    first_of[group[both[::-1]]] = both[::-1]
    alone = layer > 0
    link, cost = np.arange(len(layer)), np.full(len(layer), np.inf)
    link[alone], cost[alone] = first_of[group[alone]], costs.DROP_HAND
    before_last = last_of.copy()
    before_last[group[right]] -= 1
    before_last = np.maximum(before_last, first_of)
    for one, target in ((right, last_of[group[right]]), (left, before_last[group[left]])):
        link[target], cost[target] = one, costs.TAKE_UP_HAND
    return link, cost
