"""Positions: what there is to be played, in up to three layers.

A layer is what one way of playing has to play: both hands, the right alone, the left alone. Within a layer a
*position* stands for one more note of an onset played: an onset with three notes has three positions, and
any of its keys may take any of them, so that chords and hands struck together have no order. Positions of
all layers lie one after the other in one array; `ramp` grows by the cost of a note left out from one to the
next and by far more between layers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from counterpane.listening.alignment import costs
from counterpane.listening.alignment.written import Floats, Ints, Marks, Written
from counterpane.model.piece import Hands

BETWEEN_LAYERS = 1e6


@dataclass(frozen=True)
class Positions:
    """All positions of the layers in use; arrays of one length. `group` is the onset's number in `Written`."""

    layers: tuple[Hands, ...]
    layer: Ints
    group: Ints
    inner: Marks
    ramp: Floats
    entry: Floats
    link: Ints | None
    link_cost: Floats
    cluster: Ints
    """Number of the onset within all layers: the row of the emission tables."""

    cluster_starts: Ints
    cluster_notes: Ints
    """Note indices, cluster after cluster."""


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


def _links(layers: Sequence[Hands], layer: Ints, group: Ints, first: Marks) -> tuple[Ints | None, Floats]:
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
