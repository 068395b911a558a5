"""What to try next after an attempt, in one sentence."""

from __future__ import annotations

from datetime import date

from counterpane.model.practice import Assignment
from counterpane.practice.progress import Standing
from counterpane.practice.units_of_work import Unit, units
from counterpane.store.attempts import AttemptRow
from counterpane.studio.history import History, patch_with
from counterpane.studio.pages.practice import NextStep
from counterpane.wording import Catalogue, catalogue


def next_step(past: History, assigned: Assignment, row: AttemptRow) -> NextStep:
    """Return where the attempts on this patch have led by now."""
    words = catalogue("studio", past.language)
    patch = patch_with(assigned.patches, row.patch_id, row.first_measure, row.last_measure)
    everything = Assignment(assigned.piece, assigned.title, assigned.patches, assigned.level, assigned.tempo)
    found = units([everything], past.summaries, date.fromisoformat(row.day), past.ladders)
    unit = next((one for one in found if one.patch == patch), None)
    if patch is None or unit is None:
        return NextStep(row.patch_id, None, words.say("next.changed"))
    step = None if unit.finished else unit.standing.step.id
    return NextStep(patch.id, step, _sentence(words, unit, unit.standing, row))


def _sentence(words: Catalogue, unit: Unit, standing: Standing, row: AttemptRow) -> str:
    if unit.finished and unit.returns is not None:
        return words.say("next.done", day=_in_words(words, unit.returns.due))
    if standing.move == "back":
        return words.say("next.back", title=standing.step.title)
    if standing.step.id != row.step_id:
        return words.say("next.up", title=standing.step.title)
    return words.say("next.stay", title=standing.step.title, good=standing.good, wanted=standing.step.repetitions)


def _in_words(words: Catalogue, day: date) -> str:
    return words.say("next.day", day=day.day, month=words.say(f"month.{day.month}"))
