"""Plans as a table that a person reads: one line a thing to do, days set apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from counterpane.model.practice import DayPlan, PlanItem

_SYMBOLS = {"right": "R", "left": "L", "both": "RL"}


def plan_table(plans: Iterable[DayPlan]) -> str:
    """Return the plans as lines of text: day, minutes, what, measures, hands, tempo, and why."""
    return "\n".join(line for plan in plans for line in _day(plan))


def _day(plan: DayPlan) -> Iterator[str]:
    lesson = "  LESSON" if plan.lesson_date == plan.day else ""
    yield f"{plan.day:%a %Y-%m-%d}  {plan.minutes:4.1f} of {plan.budget:g} min{lesson}  {plan.note}"
    for item in plan.items:
        yield f"  {_item(item)}"


def _item(item: PlanItem) -> str:
    last = "" if item.first_measure == item.last_measure else f"-{item.last_measure}"
    measures = f"{item.first_measure}{last}"
    what = f"{item.kind:6} {item.section:8} m. {measures:7} {_SYMBOLS[item.hands]:2} {item.tempo:5.1f}/min"
    return f"{item.minutes:4.1f} min  {what}  {item.title}: {item.reason}"
