"""Simulated students who practise with the plan for a term, and what became of their sections.

A simulated student is a few numbers and a seed. On each day that practice happens the student does the plan's
items in order. A try of a step that is being learned is good with a chance that grows from try to try. The first
try of something that returns is good with the chance that the scheduler's own model gives for it (its recall),
so the simulation asks whether the plan keeps its promises if its model of memory is right.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise
from random import Random

from counterpane.model.practice import Assignment, AttemptSummary, PlanItem, PlanSettings, Step
from counterpane.practice.ladders import Ladders, load_ladders
from counterpane.practice.progress import standing
from counterpane.practice.today import today
from counterpane.practice.units_of_work import Unit, units

START = date(2026, 1, 5)  # a Monday


@dataclass(frozen=True)
class Student:
    """How a student practises: chance of a good first try, gain by each further one, chance to skip a day."""

    name: str
    first_try: float
    gain: float
    skips: float
    away: range = range(0)  # days of the term on holiday
    best: float = 0.95


STUDENTS = (
    Student("fast", first_try=0.75, gain=0.10, skips=0.05),
    Student("slow", first_try=0.35, gain=0.06, skips=0.05, best=0.85),
    Student("irregular", first_try=0.55, gain=0.08, skips=0.40, away=range(35, 44)),
)


@dataclass
class Term:
    """What happened: attempts, and for each day what was planned, played and remembered.

    `late_days` and `late_turns` say of each return how many days, and how many days of practice, it came after it
    was due.
    """

    student: Student
    assignment: Assignment
    settings: PlanSettings
    days: int
    attempts: list[AttemptSummary] = field(default_factory=list)
    planned_minutes: list[float] = field(default_factory=list)
    played_minutes: list[float] = field(default_factory=list)
    recall_at_return: list[float] = field(default_factory=list)
    late_days: list[int] = field(default_factory=list)
    late_turns: list[int] = field(default_factory=list)
    new_sections: list[int] = field(default_factory=list)

    @property
    def practice_days(self) -> int:
        """Days on which something was played."""
        return sum(minutes > 0 for minutes in self.played_minutes)

    def finished(self, ladders: Ladders) -> dict[str, date]:
        """Return the day on which each patch was finished, by id."""
        found = units([self.assignment], self.attempts, START + timedelta(days=self.days), ladders)
        return {u.patch.id: u.standing.finished_on for u in found if u.standing.finished_on is not None}

    def longest_wait(self) -> int:
        """Return the most days of practice that a begun, unfinished section waited for its next turn."""
        ladders = load_ladders()
        finished = self.finished(ladders)
        practised = sorted({attempt.day for attempt in self.attempts})
        longest = 0
        for patch in self.assignment.patches:
            if patch.kind != "patch":
                continue
            own = sorted({a.day for a in self.attempts if a.patch == patch.id})
            until = finished.get(patch.id, practised[-1])
            turns = [day for day in own if day <= until] + ([] if patch.id in finished else [practised[-1]])
            waits = [sum(a < day <= b for day in practised) for a, b in pairwise(turns)]
            longest = max(longest, *waits, 0)
        return longest


def simulate(
    student: Student, assignment: Assignment, settings: PlanSettings, days: int = 84, seed: int = 1
) -> Term:
    """Return a term of `days` days; the same arguments give the same term."""
    chance = Random(f"{student.name}-{seed}")
    ladders = load_ladders()
    term = Term(student, assignment, settings, days)
    for number in range(days):
        day = START + timedelta(days=number)
        plan = today([assignment], term.attempts, settings, day, ladders)
        term.planned_minutes.append(plan.minutes)
        skipped = chance.random() < student.skips or number in student.away
        played = [] if skipped else list(_practise(term, plan.items, day, ladders, chance))
        term.new_sections.append(sum(item.kind == "new" and item.state == "new" for item in plan.items))
        term.played_minutes.append(sum(attempt.minutes for attempt in played))
    return term


def _practise(
    term: Term, items: Sequence[PlanItem], day: date, ladders: Ladders, chance: Random
) -> Iterator[AttemptSummary]:
    found = {unit.patch.id: unit for unit in units([term.assignment], term.attempts, day, ladders)}
    for item in items:
        unit = found[item.patch]
        play = _return if unit.finished else _climb
        made = list(play(term, unit, item, day, chance))
        term.attempts += made
        yield from made


def _return(term: Term, unit: Unit, item: PlanItem, day: date, chance: Random) -> Iterator[AttemptSummary]:
    """Play what returns: kept with the chance that the model gives; a miss is tried again while minutes last."""
    assert unit.returns is not None
    term.recall_at_return.append(unit.returns.recall)
    term.late_days.append((day - unit.returns.due).days)
    term.late_turns.append(len({a.day for a in term.attempts if unit.returns.due <= a.day < day}))
    step = unit.ladder.steps[-1]
    left = item.minutes
    good = chance.random() < unit.returns.recall
    yield _try(unit, step, day, good, chance)
    left -= unit.try_minutes(step)
    while not good and left >= unit.try_minutes(step):
        good = chance.random() < 0.7
        yield _try(unit, step, day, good, chance)
        left -= unit.try_minutes(step)


def _climb(term: Term, unit: Unit, item: PlanItem, day: date, chance: Random) -> Iterator[AttemptSummary]:
    """Climb the ladder for the item's minutes, as far as the steps that want a night before them."""
    history = list(unit.attempts)
    allowed = {step.id for step in (*unit.steps_left, *unit.ladder.steps[: unit.standing.index])}
    left = item.minutes
    tries = 0
    where = standing(unit.ladder, history)
    while (
        not where.finished and where.step.id in allowed and left >= min(unit.try_minutes(where.step), item.minutes)
    ):
        if where.step.kind == "puzzle" and item.kind != "puzzle":
            return
        student = term.student
        good = chance.random() < min(student.best, student.first_try + tries * student.gain)
        attempt = _try(unit, where.step, day, good or where.step.kind != "play", chance)
        history.append(attempt)
        yield attempt
        left -= attempt.minutes
        before, where = where.step.id, standing(unit.ladder, history)
        tries = tries + 1 if where.step.id == before else 0
        if item.kind == "puzzle":
            return


def _try(unit: Unit, step: Step, day: date, good: bool, chance: Random) -> AttemptSummary:
    attempt = AttemptSummary(unit.assignment.piece, unit.patch.id, step.id, day, unit.try_minutes(step))
    if step.kind != "play":
        return attempt
    goals = step.goals
    wanted = goals.accuracy or 0.9
    accuracy = wanted + (1 - wanted) * chance.random() if good else wanted - 0.05 - 0.2 * chance.random()
    return replace(
        attempt,
        accuracy=accuracy,
        evenness_ms=goals.evenness_ms and goals.evenness_ms * (0.6 + 0.4 * chance.random()),
        togetherness_ms=goals.togetherness_ms and goals.togetherness_ms * (0.6 + 0.4 * chance.random()),
        hesitations=0 if good else 1,
    )


def table(terms: Sequence[Term]) -> str:
    """Return one line a term: what was begun, finished and kept, and whether the minutes held."""
    ladders = load_ladders()
    head = (
        f"{'student':10} {'days':>4} {'sections':>9} {'joins':>6} {'max planned':>11} {'max played':>10} "
        f"{'returns':>7} {'recall min':>10} {'5 %':>5} {'median':>6} "
        f"{'days late':>9} {'turns late':>10} {'wait':>4}"
    )
    return "\n".join([head, *(_line(term, ladders) for term in terms)])


def _line(term: Term, ladders: Ladders) -> str:
    finished = term.finished(ladders)
    kinds = {patch.id: patch.kind for patch in term.assignment.patches}
    sections = sum(kind == "patch" for kind in kinds.values())
    done = sum(kinds[patch] == "patch" for patch in finished)
    recall = sorted(term.recall_at_return)
    return (
        f"{term.student.name:10} {term.practice_days:4} {done:4} of {sections:2} {len(finished) - done:6} "
        f"{max(term.planned_minutes):11.1f} {max(term.played_minutes):10.1f} {len(recall):7} {recall[0]:10.2f} "
        f"{recall[len(recall) // 20]:5.2f} {recall[len(recall) // 2]:6.2f} "
        f"{max(term.late_days):9} {max(term.late_turns):10} {term.longest_wait():4}"
    )
