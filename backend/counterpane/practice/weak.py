"""Which patches are weak: where the attempts of the last two weeks fell short of their goals.

Definition. The weakness of a patch is the mean shortfall (`progress.shortfall`, each attempt held at 2) of its
last five attempts within 14 days; an attempt that stopped early counts as 1, a self-judged one as 1 when it is
not good.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from counterpane.model.practice import AttemptSummary
from counterpane.practice.progress import is_good, shortfall
from counterpane.practice.units_of_work import Unit

_LOOK_BACK = timedelta(days=14)
_LAST_ATTEMPTS = 5


def weak_units(units: Iterable[Unit], day: date) -> list[tuple[Unit, float]]:
    """Return practised units with their weakness, the weakest first; what went well is not among them."""
    rated = [(unit, weakness(unit, day)) for unit in units if unit.attempts]
    return sorted(((unit, value) for unit, value in rated if value > 0), key=lambda pair: (-pair[1], pair[0].key))


def weakness(unit: Unit, day: date) -> float:
    """Return how weak a unit is on `day`: 0 when its last attempts met every goal."""
    recent = [each for each in unit.attempts if each.day >= day - _LOOK_BACK][-_LAST_ATTEMPTS:]
    return sum(_short(unit, each) for each in recent) / len(recent) if recent else 0.0


def _short(unit: Unit, attempt: AttemptSummary) -> float:
    step = next((each for each in unit.ladder.steps if each.id == attempt.step), None)
    if step is None or is_good(step, attempt):
        return 0.0
    if not attempt.complete or attempt.self_judged is not None:
        return 1.0
    return min(2.0, shortfall(step.goals, attempt))
