"""The likeliest path of a player through a passage: an exact dynamic programme over positions.

For every struck key the player either takes a later position of the layer (notes between were left out),
stays (the key was added, out of turn, or part of an ornament), or jumps to the first position of any onset;
before the first jump the player is astray. The path of least cost is found exactly (Viterbi 1967), with the
jump as one minimum over all positions, and notes left out and jumps just back as running minima, so that a key
costs time in proportion to the positions. Every key has a table with a row for each of these ways to be somewhere
after it; costs that depend on where the player comes from are added to the costs before the key.

Only costs are kept on the way forward; on the way back each choice is made again from the costs before it.
Memory is bounded by keeping the costs of one block of keys and those at the start of each block (checkpoints),
from which earlier blocks are computed once more on the way back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from counterpane.listening.alignment import costs
from counterpane.listening.alignment.emissions import Emissions
from counterpane.listening.alignment.positions import BETWEEN_LAYERS, Positions
from counterpane.listening.alignment.waits import PAUSE, STEADY, TOGETHER
from counterpane.listening.alignment.written import Floats

STAY, STEP, JUMP = 0, 1, 2
ASTRAY = -1
_STEP, _STAY, _NEAR, _FAR = 0, 1, 2, 3
"""Rows of a key's table: going on, staying, jumping just back, jumping from anywhere."""

_BLOCK_CELLS = 4_000_000
_HASTE = (costs.IN_FLOW, costs.IN_FLOW, costs.AFTER_PAUSE, costs.AFTER_LONG_PAUSE, costs.IN_FLOW)
"""What the wait before a jump adds to its cost; the last is for keys together."""

_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Move:
    """Where the player is after a key: position (or `ASTRAY`) and how it was reached."""

    position: int
    kind: int


def find_path(positions: Positions, emissions: Emissions, keys: Sequence[int], waits: Sequence[int]) -> list[Move]:
    """Return a move for each of the struck `keys`; `waits` are their grades (see `grade_waits`)."""
    trellis = _Trellis(positions, emissions, keys, waits)
    block = max(16, _BLOCK_CELLS // trellis.count)
    starts = range(0, len(keys), block)
    checkpoints = []
    reached = np.full(trellis.count, np.inf)
    table = reached[None, :]
    for start in starts:
        checkpoints.append(reached)
        table = trellis.forward(reached, start, min(start + block, len(keys)))
        reached = table[-1].copy()  # a view would keep the whole block
    moves: list[Move] = []
    position = int(reached.argmin())
    if trellis.astray(len(keys)) < reached[position]:
        position = ASTRAY
    for number in reversed(range(len(starts))):
        if number < len(starts) - 1:
            table = trellis.forward(checkpoints[number], starts[number], starts[number + 1])
        position = trellis.backward(table, starts[number], position, moves)
    moves.reverse()
    return moves


class _Trellis:
    """Costs by position before and after each key; everyone starts astray and enters the passage by a jump."""

    def __init__(
        self, positions: Positions, emissions: Emissions, keys: Sequence[int], waits: Sequence[int]
    ) -> None:
        self.waits = waits
        self.count = count = len(positions.layer)
        self.ramp, self.link, self.link_cost = positions.ramp, positions.link, positions.link_cost
        self.back_ramp = costs.JUST_BACK_NOTE * np.arange(count) + BETWEEN_LAYERS * positions.layer
        self.distance = costs.JUMP_NOTE * np.abs(np.arange(-count, count))
        self.tables = _tables(positions, emissions, self.back_ramp, keys, waits)
        starts = np.flatnonzero(np.diff(positions.layer, prepend=-1))
        self.layer_start = starts[positions.layer].tolist()
        self.layer_end = np.append(starts[1:], count)[positions.layer].tolist()

    @staticmethod
    def astray(keys: int) -> float:
        """Return what it costs not to have entered the passage after so many keys."""
        return costs.ASTRAY * keys

    def forward(self, before: Floats, start: int, stop: int) -> Floats:
        """Return the costs before the first key of a block and after each of its keys, one row each."""
        table = np.empty((stop - start + 1, self.count))
        table[0] = before
        ways = np.full((4, self.count), np.inf)
        passed, stayed, backwards = ways[_STEP, 1:], ways[_STAY], ways[_NEAR, ::-1]
        all_but_last = stayed[:-1]
        going_back, from_anywhere = ways[_NEAR], ways[_FAR]
        ramp, back_ramp = self.ramp[:-1], self.back_ramp
        least = np.minimum.accumulate
        for event, costs_before, after in zip(range(start, stop), table, table[1:], strict=False):
            self._with_hands_changed(costs_before, stayed)
            np.subtract(all_but_last, ramp, out=passed)
            least(passed, out=passed)
            np.add(stayed, back_ramp, out=going_back)
            least(backwards, out=backwards)
            best = int(stayed.argmin())
            jump, astray = stayed.item(best) + _HASTE[self.waits[event]], self.astray(event)
            if jump < astray:
                np.add(self._distance_from(best), jump, out=from_anywhere)
            else:
                from_anywhere.fill(astray)
            np.add(ways, self.tables[event], out=ways)
            np.minimum.reduce(ways, axis=0, out=after)
            ways[_STEP, 0] = np.inf
        return table

    def _distance_from(self, position: int) -> Floats:
        """Return what a jump from a position costs more for its distance."""
        return self.distance[self.count - position : 2 * self.count - position]

    def _with_hands_changed(self, before: Floats, out: Floats) -> Floats:
        """Let a hand drop out or be taken up before the key; write the costs to `out`."""
        if self.link is None:
            out[:] = before
            return out
        before.take(self.link, out=out, mode="clip")  # this mode writes without a copy between
        np.add(out, self.link_cost, out=out)
        return np.minimum(before, out, out=out)

    def backward(self, table: Floats, start: int, position: int, moves: list[Move]) -> int:
        """Add the moves of a block from its last key to its first; return the position before it."""
        for row in range(len(table) - 2, -1, -1):
            if position == ASTRAY:
                moves.append(Move(ASTRAY, STAY))
                continue
            kind, source = self._choice(table[row], table[row + 1].item(position), start + row, position)
            moves.append(Move(position, kind))
            position = self._hands_before(table[row], source)
        return position

    def _choice(self, before: Floats, reached: float, event: int, position: int) -> tuple[int, int]:
        """Return how a position was reached at the given cost, and from where.

        Of ties staying wins, so that of two strokes of one key the first is the one that was meant, then
        going on to the next position.
        """
        ways = self.tables[event]
        reached += _ROUNDING
        if self._cost_here(before, position) + ways.item(_STAY, position) <= reached:
            return STAY, position
        taking = ways.item(_STEP, position)
        previous, first, end = position - 1, self.layer_start[position], self.layer_end[position]
        steps = previous >= first
        if steps and self._cost_here(before, previous) - self.ramp.item(previous) + taking <= reached:
            return STEP, previous
        here = self._with_hands_changed(before, np.empty(self.count))
        if steps:
            passed = here[first:position] - self.ramp[first:position]
            source = previous - int(passed[::-1].argmin())
            if passed.item(source - first) + taking <= reached:
                return STEP, source
        near = here[position:end] + self.back_ramp[position:end]
        source = int(near.argmin())
        if near.item(source) + ways.item(_NEAR, position) <= reached:
            return JUMP, position + source
        source = int(here.argmin())
        jump = here.item(source) + _HASTE[self.waits[event]]
        return JUMP, source if jump < self.astray(event) else ASTRAY

    def _cost_here(self, before: Floats, position: int) -> float:
        if self.link is None:
            return before.item(position)
        return min(before.item(position), before.item(self.link.item(position)) + self.link_cost.item(position))

    def _hands_before(self, before: Floats, position: int) -> int:
        if self.link is None or position == ASTRAY:
            return position
        other = self.link.item(position)
        changed = before.item(other) + self.link_cost.item(position) < before.item(position)
        return other if changed else position


def _tables(
    positions: Positions, emissions: Emissions, back_ramp: Floats, keys: Sequence[int], waits: Sequence[int]
) -> list[Floats]:
    """Return a table for each struck key; those of one key after the same wait are one."""
    starts, cluster = positions.cluster_starts, positions.cluster
    in_flow = np.full((len(emissions.row), 4, len(cluster)), np.inf)
    inner, first = positions.inner.astype(float), (~positions.inner).astype(float)
    in_flow[:, _STEP] = emissions.take[:, cluster]
    in_flow[:, _STEP] += positions.ramp - costs.LEFT_OUT + costs.APART * inner
    in_flow[:, _STAY] = emissions.stay[:, cluster]
    in_flow[:, _NEAR, starts] = emissions.enter - (back_ramp[starts] + (costs.JUST_BACK - costs.IN_FLOW))
    in_flow[:, _FAR, starts] = emissions.enter
    together = costs.TOGETHER * first - costs.APART * inner
    broken = (costs.BROKEN_CHORD - costs.APART) * inner
    known: dict[tuple[int, int], Floats] = {}
    for row, wait in {(emissions.row[key], wait) for key, wait in zip(keys, waits, strict=True)}:
        table = known[row, wait] = in_flow[row].copy()
        if wait == TOGETHER:
            table[_STEP] += together
        if wait >= STEADY:
            table[_STAY] = emissions.stay_plainly[row, cluster]
        if wait >= PAUSE:
            table[_STEP] += broken
            table[_NEAR] += _HASTE[wait] - costs.IN_FLOW
    return [known[emissions.row[key], wait] for key, wait in zip(keys, waits, strict=True)]
