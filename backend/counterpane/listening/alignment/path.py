"""The likeliest path of a player through a passage: an exact dynamic programme over positions.

For every struck key the player either takes a later position of the layer (notes between were left out),
stays (the key was added, out of turn, or part of an ornament), or jumps to the first position of any onset;
before the first jump the player is astray. The path of least cost is found exactly (Viterbi 1967), with the
jump as one minimum over all positions, and notes left out and jumps just back as running minima, so that a key
costs time in proportion to the positions. Memory is bounded by
keeping back pointers for one block of keys and the costs at the start
of each block (checkpoints), from which earlier blocks are computed once more on the way back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from counterpane.listening.alignment import costs
from counterpane.listening.alignment.written import BETWEEN_LAYERS, Emissions, Floats, Ints, Positions

STAY, STEP, JUMP = 0, 1, 2
ASTRAY = -1
_BLOCK_CELLS = 4_000_000
_HASTE = (costs.IN_FLOW, costs.AFTER_PAUSE, costs.AFTER_LONG_PAUSE, costs.IN_FLOW)
"""What the time before a jump adds to its cost, by its grade; the last is for grade -1."""


@dataclass(frozen=True, slots=True)
class Move:
    """Where the player is after a key: position (or `ASTRAY`) and how it was reached."""

    position: int
    kind: int


@dataclass(frozen=True)
class Path:
    """A move for each key and the total cost in nats."""

    moves: tuple[Move, ...]
    cost: float


def find_path(positions: Positions, emissions: Emissions, keys: Sequence[int], pauses: Sequence[int]) -> Path:
    """Return the path of least cost for the struck `keys`; `pauses` grades the time before each (0, 1, 2).

    A grade of -1 says that the key came together with the one before.
    """
    trellis = _Trellis(positions, emissions, keys, pauses)
    size = len(positions.layer) + 1
    block = max(16, _BLOCK_CELLS // size)
    starts = range(0, len(keys), block)
    checkpoints = []
    state = trellis.begin()
    pointers = np.empty((0, size), dtype=np.int32)
    for start in starts:
        checkpoints.append(state)
        state, pointers = trellis.run(state, start, min(start + block, len(keys)))
    moves: list[Move] = []
    position = int(np.argmin(state.costs))
    for number in reversed(range(len(starts))):
        if number < len(starts) - 1:
            stop = min(starts[number] + block, len(keys))
            _, pointers = trellis.run(checkpoints[number], starts[number], stop)
        position = _trace(pointers, position, moves)
    moves.reverse()
    return Path(tuple(moves), state.total + float(state.costs.min()))


def _trace(pointers: NDArray[np.int32], position: int, moves: list[Move]) -> int:
    astray = pointers.shape[1] - 1
    for row in range(len(pointers) - 1, -1, -1):
        source, kind = divmod(int(pointers[row, position]), 4)
        moves.append(Move(ASTRAY if position == astray else position, kind))
        position = source
    return position


@dataclass(frozen=True)
class _State:
    """Costs of all positions, the last being astray, relative to `total`."""

    costs: Floats
    total: float


class _Trellis:
    def __init__(
        self, positions: Positions, emissions: Emissions, keys: Sequence[int], pauses: Sequence[int]
    ) -> None:
        self.positions = positions
        self.emissions = emissions
        self.rows = [emissions.row[key] for key in keys]
        self.pauses = pauses
        self.count = len(positions.layer)
        self.index = np.arange(self.count, dtype=np.int64)
        self.step_ramp = np.concatenate(([0.0], positions.ramp[1:] - costs.LEFT_OUT))
        self.back_ramp = costs.JUST_BACK_NOTE * self.index + BETWEEN_LAYERS * positions.layer
        self.entries = [
            (at, costs_of_key[at])
            for costs_of_key in emissions.enter
            for at in [np.flatnonzero(np.isfinite(costs_of_key))]
        ]
        self.broken = costs.BROKEN_CHORD * positions.inner

    def begin(self) -> _State:
        """Everyone starts astray and enters the passage by a jump."""
        state = np.full(self.count + 1, np.inf)
        state[self.count] = 0.0
        return _State(state, 0.0)

    def run(self, state: _State, start: int, stop: int) -> tuple[_State, NDArray[np.int32]]:
        pointers = np.empty((stop - start, self.count + 1), dtype=np.int32)
        here, total = state.costs.copy(), state.total
        for row in range(start, stop):
            here = self._advance(here, row, pointers[row - start])
            least = float(here.min())
            here -= least
            total += least
        return _State(here, total), pointers

    def _advance(self, before: Floats, row: int, pointers: NDArray[np.int32]) -> Floats:
        key, pause = self.rows[row], self.pauses[row]
        here, source = self._switch_layers(before[:-1])
        astray = float(before[-1])

        lowered = here - self.positions.ramp
        lowest = np.minimum.accumulate(lowered)
        latest = np.maximum.accumulate(np.where(lowered <= lowest, self.index, 0))
        after = np.empty(self.count + 1)
        step = after[:-1]
        step[0] = np.inf
        np.add(lowest[:-1], self.step_ramp[1:], out=step[1:])
        step += self.emissions.take[key]
        if pause > 0:
            step += self.broken
        pointer = pointers[:-1]
        pointer[0] = 0
        pointer[1:] = source[latest[:-1]] * 4 + STEP

        stay = here + self.emissions.stay[key]
        stays = stay < step
        np.copyto(step, stay, where=stays)
        np.copyto(pointer, source * 4 + STAY, where=stays, casting="same_kind")

        self._jump(here, source, astray, row, step, pointer)
        after[-1] = astray + costs.ASTRAY
        pointers[-1] = self.count * 4 + STAY
        return after

    def _jump(
        self, here: Floats, source: Ints, astray: float, row: int, step: Floats, pointer: NDArray[np.int32]
    ) -> None:
        """Enter at positions where the key is written: from anywhere, or more cheaply from just after them."""
        key, haste = self.rows[row], _HASTE[self.pauses[row]]
        entries, entry_costs = self.entries[key]
        if not len(entries):
            return
        best = int(here.argmin())
        from_anywhere = float(here[best]) + haste
        raised = here + self.back_ramp
        least = np.minimum.accumulate(raised[::-1])[::-1]
        from_near = (least - self.back_ramp)[entries] - (costs.JUST_BACK - haste)
        jump = entry_costs + np.minimum(from_near, min(from_anywhere, astray))
        wins = np.flatnonzero(jump < step[entries])
        if not len(wins):
            return
        won = entries[wins]
        step[won] = jump[wins]
        nearest = np.minimum.accumulate(np.where(raised <= least, self.index, self.count)[::-1])[::-1]
        far = self.count if astray < from_anywhere else int(source[best])
        is_near = from_near[wins] <= min(from_anywhere, astray)
        pointer[won] = np.where(is_near, source[nearest[won]], far) * 4 + JUMP

    def _switch_layers(self, here: Floats) -> tuple[Floats, Ints]:
        if self.positions.link is None:
            return here, self.index
        other = here[self.positions.link] + self.positions.link_cost
        switched = other < here
        return np.where(switched, other, here), np.where(switched, self.positions.link, self.index)
