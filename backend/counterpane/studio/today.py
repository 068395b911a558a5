"""Today's practice and the coming days, as the page shows them."""

from __future__ import annotations

from datetime import date

from counterpane.model.practice import DayPlan, PlanItem
from counterpane.practice.puzzle_choice import puzzle_for
from counterpane.practice.today import today as plan_today
from counterpane.practice.what_if import plan_days
from counterpane.store import assignments, puzzle_answers
from counterpane.studio.history import history
from counterpane.studio.house import Studio
from counterpane.studio.minutes import minutes_by_day
from counterpane.studio.pages.practice import PlannedDay, PlanPage, TodayItem, TodayPage
from counterpane.studio.past import History
from counterpane.wording import Catalogue, catalogue

CARE = ("pain", "pauses", "ears", "people")


def today(studio: Studio, student_id: int, day: date) -> TodayPage:
    """Return what is left to practise on `day`, with the reason for each thing."""
    past = history(studio, student_id)
    plan = plan_today(past.assignments, past.summaries, past.settings, day, past.ladders)
    minutes = minutes_by_day(row for row in past.rows if row.day == day.isoformat())
    with studio.store.read() as db:
        note = assignments.newest_note(db, student_id)
    words = catalogue("studio", past.language)
    return TodayPage(
        student_id=student_id,
        date=day.isoformat(),
        minutes=past.student.minutes,
        minutes_done=round(sum(one.minutes for one in minutes.values()), 1),
        next_lesson=plan.lesson_date.isoformat() if plan.lesson_date else None,
        note_from_teacher=note,
        rest_day=plan.rest_day,
        sentence=plan.note,
        items=tuple(_item(studio, past, item) for item in plan.items),
        care=care(words),
    )


def plan(studio: Studio, student_id: int, start: date, days: int) -> PlanPage:
    """Return the plans of `days` days from `start`, supposing that each is carried out."""
    past = history(studio, student_id)
    begin = max((start, *(one.day for one in past.summaries)))
    plans = plan_days(past.assignments, past.summaries, past.settings, begin, days, past.ladders)
    return PlanPage(student_id, tuple(_day(studio, past, one) for one in plans))


def care(words: Catalogue) -> tuple[str, ...]:
    """Return the usual cautions, in the order in which they are shown."""
    return tuple(words.say(f"care.{key}") for key in CARE)


def _day(studio: Studio, past: History, plan: DayPlan) -> PlannedDay:
    return PlannedDay(
        date=plan.day.isoformat(),
        rest_day=plan.rest_day,
        lesson=plan.lesson_date == plan.day,
        minutes=round(plan.minutes, 1),
        items=tuple(_item(studio, past, item) for item in plan.items),
    )


def _puzzle(studio: Studio, past: History, item: PlanItem) -> str | None:
    """Return the puzzle that opens a patch, if the piece has any."""
    piece_id = int(item.piece)
    with studio.store.read() as db:
        asked = puzzle_answers.asked(db, past.student.person.id, piece_id)
    puzzles = studio.library.puzzles(studio.library.work(piece_id), past.language)
    found = puzzle_for(past.patch(piece_id, item.patch), puzzles, past.level, asked)
    return found.id if found else None


def _item(studio: Studio, past: History, item: PlanItem) -> TodayItem:
    step = past.step(past.patch(int(item.piece), item.patch), item.step)
    return TodayItem(
        kind=item.kind,
        piece_id=int(item.piece),
        piece_title=item.title,
        section=item.section,
        patch_id=item.patch,
        step_id=item.step,
        puzzle_id=_puzzle(studio, past, item) if item.kind == "puzzle" else None,
        hands=item.hands,
        first_measure=item.first_measure,
        last_measure=item.last_measure,
        tempo=item.tempo,
        minutes=item.minutes,
        title=step.title,
        reason=item.reason,
        state=item.state,
    )
