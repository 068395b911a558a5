"""The likeliest path of a player through a passage: an exact dynamic programme over positions.

For every struck key the player either takes a later position of the layer (notes between were left out),
stays (the key was added, out of turn, or part of an ornament), or jumps to the first position of any onset;
before the first jump the player is astray. The path of least cost is found exactly (Viterbi 1967), with the
jump as one minimum over all positions, and notes left out and jumps just back as running minima, so that a key
costs time in proportion to the positions.

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
from counterpane.listening.alignment.written import Floats

STAY, STEP, JUMP = 0, 1, 2
ASTRAY = -1
_BLOCK_CELLS = 4_000_000
_HASTE = (costs.IN_FLOW, costs.AFTER_PAUSE, costs.AFTER_LONG_PAUSE, costs.IN_FLOW)
"""What the time before a jump adds to its cost, by its grade; the last is for grade -1."""

_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class Move:
    """Where the player is after a key: position (or `ASTRAY`) and how it was reached."""

    position: int
    kind: int


def find_path(
    positions: Positions, emissions: Emissions, keys: Sequence[int], pauses: Sequence[int]
) -> list[Move]:
    """Return a move for each of the struck `keys`; `pauses` grades the time before each (0, 1, 2).

    A grade of -1 says that the key came together with the one before.
    """
    trellis = _Trellis(positions, emissions, keys, pauses)
    block = max(16, _BLOCK_CELLS // (trellis.count + 1))
    starts = range(0, len(keys), block)
    checkpoints = []
    costs_before = trellis.begin()
    table = costs_before[None, :]
    for start in starts:
        checkpoints.append(costs_before)
        table = trellis.forward(costs_before, start, min(start + block, len(keys)))
        costs_before = table[-1]
    moves: list[Move] = []
    position = int(np.argmin(costs_before))
    for number in reversed(range(len(starts))):
        if number < len(starts) - 1:
            table = trellis.forward(checkpoints[number], starts[number], starts[number + 1])
        position = trellis.backward(table, starts[number], position, moves)
    moves.reverse()
    return moves


class _Trellis:
    """Costs by position, the last column being astray."""

    def __init__(
        self, positions: Positions, emissions: Emissions, keys: Sequence[int], pauses: Sequence[int]
    ) -> None:
        self.positions = positions
        self.rows = [emissions.row[key] for key in keys]
        self.pauses = pauses
        self.count = count = len(positions.layer)
        self.ramp, self.link = positions.ramp, positions.link
        self.stays = (emissions.stay, emissions.stay_after_pause, emissions.stay_after_pause, emissions.stay)
        self.take = emissions.take
        self.take_after = emissions.take + positions.ramp - costs.LEFT_OUT
        self.broken = costs.BROKEN_CHORD * positions.inner
        self.enter = emissions.enter
        index = np.arange(count)
        self.back_ramp = costs.JUST_BACK_NOTE * index + BETWEEN_LAYERS * positions.layer
        self.back_ramps = [self.back_ramp + haste for haste in _HASTE]
        self.distance = costs.JUMP_NOTE * np.abs(np.arange(-count, count))
        self.enter_near = emissions.enter - self.back_ramp - costs.JUST_BACK
        starts = np.flatnonzero(np.diff(positions.layer, prepend=-1))
        self.layer_start = starts[positions.layer].tolist()
        self.layer_end = np.append(starts[1:], count)[positions.layer].tolist()
        self.ramped = np.full(count + 1, np.inf)
        self.first, self.second = np.empty(count), np.empty(count)

    def begin(self) -> Floats:
        """Everyone starts astray and enters the passage by a jump."""
        state = np.full(self.count + 1, np.inf)
        state[self.count] = 0.0
        return state

    def forward(self, before: Floats, start: int, stop: int) -> Floats:
        """Return the costs before the first key of a block and after each of its keys, one row each."""
        table = np.empty((stop - start + 1, self.count + 1))
        table[0] = before
        for row in range(start, stop):
            self._advance(table[row - start], table[row - start + 1], row)
        return table

    def _advance(self, before: Floats, after: Floats, row: int) -> None:
        key, pause = self.rows[row], self.pauses[row]
        here = self._with_hands_changed(before[:-1])
        astray = before.item(self.count)
        step, other = after[:-1], self.second

        np.subtract(here, self.ramp, out=other)
        np.minimum.accumulate(other, out=self.ramped[1:])
        np.add(self.ramped[:-1], self.take_after[key], out=step)
        if pause > 0:
            np.add(step, self.broken, out=step)
        np.add(here, self.stays[pause][key], out=other)
        np.minimum(step, other, out=step)

        np.add(here, self.back_ramps[pause], out=other)
        backwards = other[::-1]
        np.minimum.accumulate(backwards, out=backwards)
        np.add(other, self.enter_near[key], out=other)
        np.minimum(step, other, out=step)
        best = int(here.argmin())
        from_anywhere = here.item(best) + _HASTE[pause]
        if from_anywhere < astray:
            np.add(self.enter[key], self._distance_from(best), out=other)
            np.add(other, from_anywhere, out=other)
        else:
            np.add(self.enter[key], astray, out=other)
        np.minimum(step, other, out=step)
        after[self.count] = astray + costs.ASTRAY

    def _distance_from(self, position: int) -> Floats:
        """Return what a jump from a position costs more for its distance."""
        return self.distance[self.count - position : 2 * self.count - position]

    def _with_hands_changed(self, here: Floats) -> Floats:
        """Let a hand drop out or be taken up before the key."""
        if self.link is None:
            return here
        here.take(self.link, out=self.first, mode="clip")  # this mode writes without a copy between
        np.add(self.first, self.positions.link_cost, out=self.first)
        return np.minimum(here, self.first, out=self.first)

    def backward(self, table: Floats, start: int, position: int, moves: list[Move]) -> int:
        """Add the moves of a block from its last key to its first; return the position before it."""
        for row in range(len(table) - 2, -1, -1):
            if position == self.count:
                moves.append(Move(ASTRAY, STAY))
                continue
            kind, source = self._choice(table[row], table[row + 1].item(position), start + row, position)
            moves.append(Move(position, kind))
            position = self._hands_before(table[row], source)
        return position

    def _choice(self, before: Floats, reached: float, row: int, position: int) -> tuple[int, int]:
        """Return how a position was reached at the given cost, and from where.

        Of ties staying wins, so that of two strokes of one key the first is the one that was meant, then
        going on to the next position.
        """
        key, pause = self.rows[row], self.pauses[row]
        reached += _ROUNDING
        if self._cost_here(before, position) + self.stays[pause][key].item(position) <= reached:
            return STAY, position
        taking = self.take[key].item(position) + (self.broken.item(position) if pause > 0 else 0.0)
        previous = position - 1
        if previous >= self.layer_start[position] and self._cost_here(before, previous) + taking <= reached:
            return STEP, previous
        here = self._with_hands_changed(before[:-1])
        first, end = self.layer_start[position], self.layer_end[position]
        if previous >= first:
            passed = here[first:position] - self.ramp[first:position]
            source = position - 1 - int(np.argmin(passed[::-1]))
            ramp = self.ramp.item(position) - self.ramp.item(source) - costs.LEFT_OUT
            if here.item(source) + ramp + taking <= reached:
                return STEP, source
        near = here[position:end] + self.back_ramp[position:end]
        source = position + int(np.argmin(near))
        if near.min() + self.enter_near[key].item(position) + _HASTE[pause] <= reached:
            return JUMP, source
        source = int(np.argmin(here))
        from_anywhere = here.item(source) + _HASTE[pause]
        return JUMP, source if from_anywhere < before.item(self.count) else self.count

    def _cost_here(self, before: Floats, position: int) -> float:
        link = self.positions.link
        if link is None:
            return before.item(position)
        return min(
            before.item(position), before.item(link.item(position)) + self.positions.link_cost.item(position)
        )

    def _hands_before(self, before: Floats, position: int) -> int:
        link = self.positions.link
        if link is None or position == self.count:
            return position
        other = link.item(position)
        changed = before.item(other) + self.positions.link_cost.item(position) < before.item(position)
        return other if changed else position
