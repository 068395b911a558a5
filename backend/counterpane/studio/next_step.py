"""What to try next after an attempt, in one sentence."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from counterpane.model.practice import Assignment, Patch
from counterpane.practice.ladders import ladder_for
from counterpane.practice.progress import Standing, standing
from counterpane.practice.units_of_work import units
from counterpane.store.attempts import AttemptRow
from counterpane.studio.pages.practice import NextStep
from counterpane.studio.past import History, patch_with
from counterpane.wording import Catalogue, catalogue


def next_step(past: History, assigned: Assignment, row: AttemptRow) -> NextStep:
    """Return where the attempts on this patch have led by now."""
    words = catalogue("studio", past.language)
    patch = patch_with(assigned.patches, row.patch_id, row.first_measure, row.last_measure)
    if patch is None:
        return NextStep(row.patch_id, None, words.say("next.changed"))
    stands = standing(ladder_for(patch, past.level, past.ladders), past.of_patch(assigned.piece, patch.id))
    if stands.finished:
        day = _in_words(words, _due(past, assigned, patch, date.fromisoformat(row.day)))
        return NextStep(patch.id, None, words.say("next.done", day=day))
    return NextStep(patch.id, stands.step.id, _sentence(words, stands, row))


def _due(past: History, assigned: Assignment, patch: Patch, day: date) -> date:
    """Return when a finished patch comes back; pairs and wholes that hold it count, so all are looked at."""
    everything = replace(assigned, sections=())
    found = units([everything], past.summaries, day, past.ladders)
    returns = next(one.returns for one in found if one.patch == patch)
    return returns.due if returns else day


def _sentence(words: Catalogue, standing: Standing, row: AttemptRow) -> str:
    if standing.move == "back":
        return words.say("next.back", title=standing.step.title)
    if standing.step.id != row.step_id:
        return words.say("next.up", title=standing.step.title)
    return words.say("next.stay", title=standing.step.title, good=standing.good, wanted=standing.step.repetitions)


def _in_words(words: Catalogue, day: date) -> str:
    return words.say("next.day", day=day.day, month=words.say(f"month.{day.month}"))
