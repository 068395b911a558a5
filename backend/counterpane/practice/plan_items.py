"""Writes the items of a day's plan, each with its minutes and the sentence that says why this, today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from counterpane.model.practice import ItemKind, PlanItem, Step
from counterpane.practice.units_of_work import Unit
from counterpane.wording import Catalogue

_TRIES_PER_GOOD_ONE = 1.5
_LEAST_MINUTES = 1.0
_PUZZLE_MINUTES = 1.5


@dataclass(frozen=True)
class Writer:
    """The wording and the day that items are written for."""

    words: Catalogue
    day: date

    def note(self, key: str, **values: object) -> str:
        """Return the sentence about the day as a whole."""
        return self.words.say(f"note.{key}", **values)

    def due(self, unit: Unit) -> PlanItem:
        """Return a return: the last step of the ladder, played again."""
        step = unit.ladder.steps[-1]
        assert unit.returns is not None
        assert unit.last_day is not None
        away = (self.day - unit.last_day).days
        early = unit.returns.due > self.day
        reason = self._say("early" if early else "due", unit, days=away, percent=round(100 * unit.returns.recall))
        return self._item("due", unit, step, step_minutes(unit, step), reason)

    def join(self, unit: Unit) -> PlanItem:
        """Return a seam, a pair or the whole that is ready."""
        kind: ItemKind = "seam" if unit.patch.kind == "seam" else "pair" if unit.patch.kind == "pair" else "whole"
        step = unit.standing.step
        minutes = sum(step_minutes(unit, each) for each in unit.ladder.steps[unit.standing.index :])
        key = f"{kind}_again" if unit.attempts else kind
        return self._item(kind, unit, step, min(minutes, 6.0), self._say(key, unit))

    def section(self, unit: Unit, minutes: float) -> list[PlanItem]:
        """Return the new or unfinished section within `minutes`, opened by its puzzle where that is not done."""
        items: list[PlanItem] = []
        steps = unit.ladder.steps[unit.standing.index :]
        puzzle = next((step for step in steps if step.kind == "puzzle"), None)
        if puzzle is not None and minutes > 2 * _PUZZLE_MINUTES:
            items.append(self._item("puzzle", unit, puzzle, _PUZZLE_MINUTES, self._say("puzzle", unit)))
            minutes -= _PUZZLE_MINUTES
            steps = tuple(step for step in steps if step.kind != "puzzle")
        needed = sum(step_minutes(unit, step) for step in steps)
        key = self._why_section(unit)
        reason = self._say(
            key,
            unit,
            step=steps[0].title,
            done=unit.standing.done_steps,
            steps=len(unit.ladder.steps),
            days=unit.days_in_work,
            score=f"{unit.patch.difficulty.score:g}",
        )
        items.append(self._item("new", unit, steps[0], min(minutes, max(_LEAST_MINUTES, needed)), reason))
        return items

    def weak(self, unit: Unit, weakness: float) -> PlanItem:
        """Return a weak spot, on the step where the student stands."""
        step = unit.standing.step
        reason = self._say("weak", unit, percent=round(100 * min(1.0, weakness)), step=step.title)
        return self._item("weak", unit, step, min(4.0, max(2.0, step_minutes(unit, step))), reason)

    def play_through(self, unit: Unit, most: float) -> PlanItem:
        """Return the longest stretch that is ready, once through, as in the lesson."""
        step = unit.ladder.steps[-1]
        minutes = min(most, max(_LEAST_MINUTES, unit.try_minutes(step)))
        return self._item("whole", unit, step, minutes, self._say("play_through", unit))

    def _why_section(self, unit: Unit) -> str:
        if unit.days_in_work >= 5:
            return "section_stuck"
        if unit.attempts:
            return "section_unfinished"
        return "section_opening" if unit.patch.id == unit.assignment.patches[0].id else "section_new"

    def _say(self, key: str, unit: Unit, **values: object) -> str:
        patch = unit.patch
        where = {"section": patch.section, "first": patch.first_measure, "last": patch.last_measure}
        one_day = values.get("days") == 1 and f"why.{key}_one" in self.words
        return self.words.say(f"why.{key}_one" if one_day else f"why.{key}", **where, **values)

    def _item(self, kind: ItemKind, unit: Unit, step: Step, minutes: float, reason: str) -> PlanItem:
        patch, assignment = unit.patch, unit.assignment
        return PlanItem(
            kind=kind,
            piece=assignment.piece,
            title=assignment.title,
            patch=patch.id,
            step=step.id,
            section=patch.section,
            hands=step.hands,
            first_measure=patch.first_measure,
            last_measure=patch.last_measure,
            tempo=round(assignment.tempo * step.tempo_share, 1),
            minutes=round(minutes, 1),
            state=unit.state,
            reason=reason,
        )


def step_minutes(unit: Unit, step: Step) -> float:
    """Return the minutes that a step takes: one and a half tries for each good one, at least one minute in all."""
    if step.kind == "puzzle":
        return _PUZZLE_MINUTES
    tries = step.repetitions * (_TRIES_PER_GOOD_ONE if step.kind == "play" else 1)
    return max(_LEAST_MINUTES, tries * unit.try_minutes(step))
