"""`counterpane plan STUDENT`: what the coming days would hold."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path

import click

from counterpane.errors import CounterpaneError, NotFound
from counterpane.model.practice import DayPlan
from counterpane.practice.plan_table import plan_table
from counterpane.practice.what_if import plan_days
from counterpane.store import people
from counterpane.studio.history import history
from counterpane.studio.house import Studio, open_studio


@click.command("plan")
@click.argument("student")
@click.option("--studio", required=True, type=click.Path(path_type=Path, dir_okay=False), help="The studio file.")
@click.option("--days", default=14, show_default=True, help="How many days to look ahead, 1 to 120.")
@click.option("--from", "start", type=click.DateTime(["%Y-%m-%d"]), help="The first day; today without it.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object in place of a table.")
def command(student: str, studio: Path, days: int, start: datetime | None, *, as_json: bool) -> None:
    """Print the coming days of STUDENT (a nickname or a number), supposing that practice goes as expected.

    Nothing is written.
    """
    today = datetime.now().astimezone().date()
    first = start.date() if start else today
    if first < today:
        raise CounterpaneError(f"{first} is past: plans are for {today} and later days.")
    opened = open_studio(studio)
    try:
        plans = _plans(opened, student, first, days)
    finally:
        opened.close()
    click.echo(json.dumps(_as_json(student, plans), indent=2) if as_json else plan_table(plans))


def _plans(studio: Studio, student: str, start: date, days: int) -> tuple[DayPlan, ...]:
    past = history(studio, _student_id(studio, student))
    return plan_days(past.assignments, past.summaries, past.settings, start, days, past.ladders)


def _student_id(studio: Studio, student: str) -> int:
    with studio.store.read() as db:
        rows = people.students(db)
    found = [row.person for row in rows if student in (row.person.nickname, str(row.person.id))]
    if not found:
        names = ", ".join(sorted(row.person.nickname for row in rows)) or "nobody yet"
        raise NotFound(f"There is no student {student} in this studio: choose one of {names}.")
    if len(found) > 1:
        numbers = ", ".join(str(person.id) for person in found)
        raise CounterpaneError(f"Several students are called {student}: choose one of the numbers {numbers}.")
    return found[0].id


def _as_json(student: str, plans: tuple[DayPlan, ...]) -> dict[str, object]:
    return {"student": student, "days": [_day(plan) for plan in plans]}


def _day(plan: DayPlan) -> dict[str, object]:
    return {
        "date": plan.day.isoformat(),
        "rest_day": plan.rest_day,
        "lesson": plan.lesson_date == plan.day,
        "minutes": round(plan.minutes, 1),
        "budget": plan.budget,
        "note": plan.note,
        "items": [asdict(item) for item in plan.items],
    }
