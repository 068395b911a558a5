"""Where a student goes: the passes over the onsets of a passage, with breaks, returns and skips."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from demo.simulation.faults import Faults


@dataclass(frozen=True, slots=True)
class Pass:
    """Onsets `first` to `last`, both played; those from `abandoned_from` on were broken off and begun again."""

    first: int
    last: int
    fault: str
    abandoned_from: int | None = None


class Route:
    """Plans passes over onsets numbered from 0; `measure_of` gives each onset's measure, `beat_of` its beat."""

    def __init__(self, measure_of: Sequence[int], on_beat: Sequence[bool], faults: Faults, chance: Random) -> None:
        self.measure_of = measure_of
        self.on_beat = on_beat
        self.faults = faults
        self.chance = chance
        self.final = len(measure_of) - 1
        self.stops_at = self.final
        self.passes: list[Pass] = []

    def plan(self, slips: Sequence[bool]) -> list[Pass]:
        """Return the passes; `slips` marks onsets where something goes wrong the first time."""
        here = start = 0
        if self._happens(self.faults.late_start) and self.final > 4:
            here = start = self.chance.randint(1, self.final // 2)
        if self._happens(self.faults.early_stop) and self.final > 4:
            self.stops_at = self.chance.randint(max(start + 2, self.final // 3), self.final - 1)
        budget = 4 + 3 * (self.final + 1)
        fault, slipped = "late start" if start else "", set[int]()
        while True:
            budget -= 1
            turn = self._turn(here, start, slips, slipped) if budget > 0 else None
            if turn is not None:
                target, name = turn
                self.passes.append(Pass(start, here, fault, self._abandoned_from(name, target, here, start)))
                here = start = target
                fault = name
            elif here >= self.stops_at:
                self.passes.append(Pass(start, here, fault))
                return self.passes
            else:
                here += 1

    def _turn(self, here: int, start: int, slips: Sequence[bool], slipped: set[int]) -> tuple[int, str] | None:
        """Return where the student goes instead of on, if anywhere, and why."""
        slip = slips[here] and here not in slipped
        slipped.add(here)
        if self._happens(self.faults.restart_after_slip * slip + self.faults.restart) and here > 0:
            return self._restart_from(here, start), "restart"
        if here >= self.final or self.measure_of[here] == self.measure_of[here + 1]:
            return None
        measure = self.measure_of[here]
        if self._happens(self.faults.repeat_measure):
            return self._first_of(measure), "repeated measure"
        if self._happens(self.faults.back):
            return self._first_of(max(self.measure_of[0], measure - self.chance.randint(1, 3))), "going back"
        if self._happens(self.faults.skip) and measure + 2 <= self.measure_of[self.stops_at]:
            last = self.measure_of[self.stops_at]
            return self._first_of(min(last, measure + 1 + self.chance.randint(1, 2))), "skip"
        return None

    def _abandoned_from(self, name: str, target: int, here: int, start: int) -> int | None:
        """Return where an abandoned start began: broken off inside a measure, then begun again there."""
        inside = here < self.final and self.measure_of[here] == self.measure_of[here + 1]
        again = target == start or self.measure_of[target] == self.measure_of[here]
        return max(target, start) if name == "restart" and inside and again else None

    def _restart_from(self, here: int, start: int) -> int:
        kind = self.chance.random()
        if kind < 0.5:
            return self._first_of(self.measure_of[here])
        if kind < 0.7:
            earlier = [index for index in range(max(0, here - 12), here) if self.on_beat[index]]
            return self.chance.choice(earlier or [0])
        if kind < 0.88 and here - start < 60:
            return start
        return max(0, here - self.chance.randint(1, 9))

    def _first_of(self, measure: int) -> int:
        return next(index for index, number in enumerate(self.measure_of) if number >= measure)

    def _happens(self, chance: float) -> bool:
        return self.chance.random() < chance
