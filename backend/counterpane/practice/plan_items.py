"""Writes the items of a day's plan, each with its minutes and the sentence that says why this, today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from counterpane.model.practice import ItemKind, PlanItem, Step
from counterpane.practice.units_of_work import LEAST_MINUTES, PUZZLE_MINUTES, Unit
from counterpane.wording import Catalogue


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
        return self._item("due", unit, step, unit.step_minutes(step), reason)

    def finish(self, unit: Unit) -> PlanItem:
        """Return what is left of a section after a night."""
        assert unit.last_day is not None
        steps = unit.steps_left
        reason = self._say("finish", unit, step=steps[0].title, days=(self.day - unit.last_day).days)
        return self._item("due", unit, steps[0], sum(unit.step_minutes(step) for step in steps), reason)

    def join(self, unit: Unit) -> PlanItem:
        """Return a seam, a pair or the whole that is ready."""
        kind: ItemKind = "seam" if unit.patch.kind == "seam" else "pair" if unit.patch.kind == "pair" else "whole"
        step = unit.standing.step
        minutes = sum(map(unit.step_minutes, unit.steps_left))
        key = f"{kind}_again" if unit.attempts else kind
        return self._item(kind, unit, step, min(minutes, 6.0), self._say(key, unit))

    def section(self, unit: Unit, minutes: float) -> list[PlanItem]:
        """Return the new or unfinished section within `minutes`, opened by its puzzle where that is not done.

        It goes as far as the steps that want a night before them.
        """
        items: list[PlanItem] = []
        steps = unit.steps_left
        puzzle = next((step for step in steps if step.kind == "puzzle"), None)
        if puzzle is not None and minutes > 2 * PUZZLE_MINUTES:
            items.append(self._item("puzzle", unit, puzzle, PUZZLE_MINUTES, self._say("puzzle", unit)))
            minutes -= PUZZLE_MINUTES
            steps = tuple(step for step in steps if step.kind != "puzzle")
        if not steps:
            return items
        needed = sum(unit.step_minutes(step) for step in steps)
        reason = self._say(
            self._why_section(unit),
            unit,
            step=steps[0].title,
            done=unit.standing.done_steps,
            steps=len(unit.ladder.steps),
            days=unit.days_in_work,
            score=f"{unit.patch.difficulty.score:g}",
        )
        items.append(self._item("new", unit, steps[0], min(minutes, max(LEAST_MINUTES, needed)), reason))
        return items

    def weak(self, unit: Unit) -> PlanItem:
        """Return a weak spot, on the step where the student stands."""
        step = unit.standing.step
        reason = self._say("weak", unit, step=step.title)
        return self._item("weak", unit, step, min(4.0, max(2.0, unit.step_minutes(step))), reason)

    def play_through(self, unit: Unit) -> PlanItem:
        """Return something that is ready, once through, as in the lesson."""
        step = unit.ladder.steps[-1]
        kind: ItemKind = "whole" if unit.patch.kind == "whole" else "due"
        minutes = max(LEAST_MINUTES, unit.try_minutes(step))
        return self._item(kind, unit, step, minutes, self._say("play_through", unit))

    def _why_section(self, unit: Unit) -> str:
        if unit.days_in_work >= 5:
            return "section_stuck"
        if unit.attempts:
            return "section_unfinished"
        return "section_opening" if unit.patch.id == unit.assignment.patches[0].id else "section_new"

    def _say(self, why: str, unit: Unit, **values: object) -> str:
        patch = unit.patch
        key = "measure" if patch.first_measure == patch.last_measure else "measures"
        measures = self.words.say(f"where.{key}", first=patch.first_measure, last=patch.last_measure)
        where = {"section": patch.section, "measures": measures}
        where |= {"first": str(patch.first_measure), "last": str(patch.last_measure)}
        one_day = values.get("days") == 1 and f"why.{why}_one" in self.words
        return self.words.say(f"why.{why}_one" if one_day else f"why.{why}", **where, **values)

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
