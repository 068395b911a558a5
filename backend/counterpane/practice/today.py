"""The day's plan: one new or unfinished section, plus what is due again, within the minutes the teacher set.

Rules (each item's reason names the one that put it there):

1. On a rest day there is nothing to do. What falls due on coming rest days is played before them.
2. A section that was learned on a day before, or is nearly done, is finished; some steps want a night before
   them.
3. What is due comes first, the one most likely to be forgotten leading, in at most 60 % of the minutes as long as
   there is a section to work on; what does not fit comes first on the next day. A patch in a pair or a whole that
   is played today is not played by itself as well. As long as more is due than fits, nothing new is begun.
4. Then one join that is ready, when it fits: a seam between two finished patches, two patches whose seam is
   finished, the whole when every pair is finished. When no section is left, as many joins as fit.
5. Then the unfinished section, or the next new one in the order of the level's first pass. A puzzle opens a new
   section before any note is played. A section that has not been finished in five days takes turns with another
   one, so that it keeps nothing waiting.
6. On the last day before a lesson, and on the day of the lesson, nothing new is begun: the weak spots of the last
   two weeks, what is due, then everything that is ready once through.

A plan is a pure function of what was done and the day; nothing in it is left to chance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from counterpane.errors import CounterpaneError
from counterpane.model.practice import Assignment, AttemptSummary, DayPlan, PlanItem, PlanSettings
from counterpane.practice.first_pass import section_to_work_on
from counterpane.practice.ladders import Ladders, load_ladders
from counterpane.practice.lessons import next_lesson
from counterpane.practice.plan_items import Writer
from counterpane.practice.units_of_work import Unit, covers, units
from counterpane.practice.weak import weak_units
from counterpane.wording import catalogue

_DUE_SHARE = 0.6
_LEAST_FOR_SECTION_MIN = 3.0


def today(
    assignments: Sequence[Assignment],
    attempts: Iterable[AttemptSummary],
    settings: PlanSettings,
    day: date,
    ladders: Ladders | None = None,
) -> DayPlan:
    """Return what to do on `day`, given every attempt so far in the order in which they were made.

    Attempts after `day` are not looked at; attempts on `day` itself count as done. Raises `CounterpaneError` for
    settings that no plan can keep.
    """
    check_settings(settings)
    ladders = ladders or load_ladders(language=settings.language)
    return _Day(units(assignments, attempts, day, ladders), settings, day, ladders).plan()


def check_settings(settings: PlanSettings) -> None:
    """Raise `CounterpaneError` for minutes or weekdays that do not exist."""
    if not 1 <= settings.minutes <= 240:
        raise CounterpaneError(f"{settings.minutes:g} minutes a day cannot be planned: choose 1 to 240")
    unknown = sorted(weekday for weekday in settings.rest_days if weekday not in range(7))
    if unknown:
        raise CounterpaneError(f"there is no weekday {unknown[0]}: rest days are 0 (Monday) to 6 (Sunday)")
    if len(settings.rest_days) == 7:
        raise CounterpaneError("every day of the week is a rest day: leave at least one day to practise")


def next_practice_day(settings: PlanSettings, day: date) -> date:
    """Return the first day after `day` that is no rest day."""
    following = day + timedelta(days=1)
    while following.weekday() in settings.rest_days:
        following += timedelta(days=1)
    return following


@dataclass(frozen=True)
class _Day:
    """One day for one student."""

    units: tuple[Unit, ...]
    settings: PlanSettings
    day: date
    ladders: Ladders

    @property
    def writer(self) -> Writer:
        return Writer(catalogue("plan", self.settings.language), self.day)

    @property
    def lesson(self) -> date | None:
        return next_lesson(self.settings.lessons, self.day)

    @property
    def before_lesson(self) -> bool:
        """Whether this is the last day of practice before the lesson, or the lesson's own."""
        return self.lesson is not None and next_practice_day(self.settings, self.day) >= self.lesson

    def plan(self) -> DayPlan:
        write = self.writer
        if self.day.weekday() in self.settings.rest_days:
            return self._done([], write.note("rest_day"), rest_day=True)
        if not self.units:
            return self._done([], write.note("nothing_assigned"))
        if self.before_lesson and any(unit.attempts for unit in self.units):
            return self._lesson_day(write)
        return self._working_day(write)

    def _done(self, items: list[PlanItem], note: str, *, rest_day: bool = False) -> DayPlan:
        return DayPlan(self.day, self.settings.minutes, tuple(items), rest_day, note, self.lesson)

    @property
    def minutes(self) -> float:
        """The minutes that are left of today's."""
        spent = sum(each.minutes for unit in self.units for each in unit.attempts if each.day == self.day)
        return max(0.0, self.settings.minutes - spent)

    def _lesson_day(self, write: Writer) -> DayPlan:
        """Weak spots first, then what is due, then everything that is ready once through."""
        weak = [unit for unit, _ in weak_units(self.units, self.day)]
        due = [unit for unit in self._due() if unit not in weak]
        ready = [unit for unit in _ready_runs(self.units) if unit not in weak and unit not in due]
        wanted = (
            *map(write.weak, weak),
            *(write.due(unit) if unit.finished else write.finish(unit) for unit in due),
            *map(write.play_through, ready),
        )
        items, _ = _fitting(wanted, self.minutes)
        return self._done(items, write.note("lesson_today" if self.lesson == self.day else "lesson_next"))

    def _working_day(self, write: Writer) -> DayPlan:
        due = self._due()
        section = section_to_work_on(self.units, self.day, self.ladders)
        share = _DUE_SHARE if section else 1.0
        items, waiting = self._returns(write, due, share * self.minutes)
        # Nothing new while something waits: then the returns may have all the minutes.
        if waiting and section and not section.attempts:
            section = None
            items, waiting = self._returns(write, due, self.minutes)
        if not waiting:
            joins = self._joins()[: 1 if section else None]
            left = self.minutes - sum(item.minutes for item in items)
            items += _whole_items(map(write.join, joins), left)
        left = self.minutes - sum(item.minutes for item in items)
        if section and left >= min(_LEAST_FOR_SECTION_MIN, self.settings.minutes):
            items += write.section(section, left)
        return self._done(items, self._note(write, items, waiting))

    def _note(self, write: Writer, items: Sequence[PlanItem], waiting: int) -> str:
        if waiting:
            return write.note("more_due", count=waiting)
        if not items:
            return write.note("all_secure")
        missed = self._missed_days()
        if missed:
            return write.note("missed", count=missed)
        section = any(item.kind == "new" for item in items)
        return write.note("ordinary" if section else "no_section")

    def _missed_days(self) -> int:
        """Count the days since the last practice on which practice was possible (at most a month back)."""
        days = [unit.last_day for unit in self.units if unit.last_day is not None]
        if not days or max(days) >= self.day:
            return 0
        last = max(days)
        between = (last + timedelta(days=n) for n in range(1, min(31, (self.day - last).days)))
        return sum(each.weekday() not in self.settings.rest_days for each in between)

    def _due(self) -> list[Unit]:
        """Return what has to be played today, the least remembered first, without parts of a larger due unit.

        Sections to finish lead.
        """
        horizon = next_practice_day(self.settings, self.day)
        other_days = [unit for unit in self.units if unit.last_day != self.day]
        finish = [unit for unit in other_days if unit.patch.kind == "patch" and unit.nearly_done]
        due = [unit for unit in other_days if unit.returns is not None and unit.returns.due < horizon]
        alone = [unit for unit in due if not any(_holds(other, unit) for other in due)]
        return [*finish, *sorted(alone, key=lambda unit: (unit.returns.recall if unit.returns else 1.0, unit.key))]

    def _returns(self, write: Writer, due: Sequence[Unit], minutes: float) -> tuple[list[PlanItem], int]:
        """Return the due items that fit into `minutes` (the first always does), and how many have to wait."""
        return _fitting([write.due(unit) if unit.finished else write.finish(unit) for unit in due], minutes)

    def _joins(self) -> list[Unit]:
        """Return the joins that are unfinished and ready: seams first, then pairs, then the whole."""
        finished = {unit.key for unit in self.units if unit.finished}
        order = ("seam", "pair", "whole")
        joins = [unit for unit in self.units if unit.patch.kind in order and not unit.finished]
        ready = [unit for unit in joins if _parts_ready(unit, self.units, finished)]
        return sorted(ready, key=lambda unit: (order.index(unit.patch.kind), not unit.attempts))


def _holds(outer: Unit, inner: Unit) -> bool:
    return outer.assignment.piece == inner.assignment.piece and covers(outer.patch, inner.patch)


def _parts_ready(join: Unit, everything: Sequence[Unit], finished: set[tuple[str, str]]) -> bool:
    piece = join.assignment.piece
    needed = {(piece, part) for part in join.patch.parts}
    for other in everything:
        if other.assignment.piece != piece:
            continue
        if join.patch.kind == "pair" and other.patch.kind == "seam" and other.patch.parts == join.patch.parts:
            needed.add(other.key)
        if join.patch.kind == "whole" and other.patch.kind == "pair":
            needed.add(other.key)
    return needed <= finished


def _fitting(wanted: Sequence[PlanItem], minutes: float) -> tuple[list[PlanItem], int]:
    """Return the items that fit into `minutes`, the first one shortened if need be, and how many do not."""
    first = [replace(item, minutes=round(min(item.minutes, minutes), 1)) for item in wanted[:1] if minutes >= 1]
    items = _whole_items([*first, *wanted[1:]], minutes)
    return items, len(wanted) - len(items)


def _whole_items(wanted: Iterable[PlanItem], minutes: float) -> list[PlanItem]:
    """Return those items, in order, that fit into `minutes` beside the ones before them."""
    items: list[PlanItem] = []
    left = minutes
    for item in wanted:
        if item.minutes <= left:
            items.append(item)
            left -= item.minutes
    return items


def _ready_runs(everything: Sequence[Unit]) -> list[Unit]:
    """Return the longest finished stretches that together hold every finished patch once, in score order."""
    finished = [unit for unit in everything if unit.finished and unit.patch.kind != "seam"]
    covered: set[tuple[str, str]] = set()
    runs = []
    for unit in sorted(finished, key=lambda each: -each.patch.quarters):
        parts = {(unit.assignment.piece, part) for part in unit.patch.parts or (unit.patch.id,)}
        if not parts <= covered:
            covered |= parts
            runs.append(unit)
    pieces = [unit.assignment.piece for unit in everything]
    return sorted(runs, key=lambda each: (pieces.index(each.assignment.piece), each.patch.first_measure))
