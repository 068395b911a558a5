"""The coming days, if practice goes as expected: what a change of minutes or rest days would lead to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from counterpane.errors import CounterpaneError
from counterpane.model.practice import Assignment, AttemptSummary, DayPlan, PlanItem, PlanSettings, Step
from counterpane.practice.ladders import Ladders, load_ladders
from counterpane.practice.today import today
from counterpane.practice.units_of_work import Unit, units


def plan_days(
    assignments: Sequence[Assignment],
    attempts: Iterable[AttemptSummary],
    settings: PlanSettings,
    start: date,
    days: int = 14,
    ladders: Ladders | None = None,
) -> tuple[DayPlan, ...]:
    """Return the plans of `days` days from `start`, each supposing that the plans before it were carried out.

    Expected means: every step takes the time that the plan reckons with and then meets its goals, and what
    returns is still known. Nothing is written anywhere. Raises `CounterpaneError` for a number of days outside 1
    to 120 and for a start before the last attempt.
    """
    if not 1 <= days <= 120:
        raise CounterpaneError(f"{days} days cannot be planned: choose 1 to 120")
    history = list(attempts)
    if history and start < history[-1].day:
        raise CounterpaneError(
            f"{start} lies before the last attempt ({history[-1].day}): start on or after that day"
        )
    ladders = ladders or load_ladders(language=settings.language)
    plans = []
    for number in range(days):
        day = start + timedelta(days=number)
        plan = today(assignments, history, settings, day, ladders)
        by_key = {unit.key: unit for unit in units(assignments, history, day, ladders)}
        for item in plan.items:
            history += expected_attempts(by_key[item.piece, item.patch], item, day)
        plans.append(plan)
    return tuple(plans)


def expected_attempts(unit: Unit, item: PlanItem, day: date) -> Iterator[AttemptSummary]:
    """Return the attempts that an item of the plan leads to when all goes as expected."""
    left = item.minutes
    for step in _steps(unit, item):
        needed = unit.step_minutes(step)
        # The plan shows tenths of a minute, so a step that just fits may be rounded out of it.
        if left + 0.1 < needed and left < item.minutes:
            return
        # A step that began before counts with the good tries that it has; the minutes decide how many are added.
        fits = step.repetitions if left + 0.1 >= needed else max(1, round(step.repetitions * left / needed))
        yield from (_met(step, unit, day, needed / step.repetitions) for _ in range(fits))
        left -= needed


def _steps(unit: Unit, item: PlanItem) -> tuple[Step, ...]:
    if item.kind in ("weak", "puzzle") or unit.finished:
        return tuple(step for step in unit.ladder.steps if step.id == item.step)
    return tuple(step for step in unit.steps_left if step.kind != "puzzle")


def _met(step: Step, unit: Unit, day: date, minutes: float) -> AttemptSummary:
    attempt = AttemptSummary(unit.assignment.piece, unit.patch.id, step.id, day, minutes)
    if step.kind != "play":
        return attempt
    goals = step.goals
    return replace(
        attempt,
        accuracy=1.0 if goals.accuracy is None else goals.accuracy,
        evenness_ms=goals.evenness_ms,
        togetherness_ms=goals.togetherness_ms,
        hesitations=0,
    )
