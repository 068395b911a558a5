"""A student's practice as the plan reads it: what is assigned, and every attempt so far in its order.

Patches are cut anew when the teacher corrects an analysis or changes a level, and their ids may then stand for
other measures. An attempt therefore counts for the patch that has its measures now; where none has them any
more it stays in the log and counts for no patch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from counterpane.model.practice import (
    Assignment,
    AttemptSummary,
    Ladder,
    Lessons,
    Level,
    Patch,
    PlanSettings,
    Step,
)
from counterpane.practice.ladders import Ladders, ladder_for
from counterpane.store.attempts import AttemptRow
from counterpane.store.people import StudentRow
from counterpane.store.puzzle_answers import OpenedPatch


@dataclass(frozen=True)
class History:
    """Everything the plan needs to know about one student."""

    student: StudentRow
    level: Level
    language: str
    ladders: Ladders
    assignments: tuple[Assignment, ...]
    rows: tuple[AttemptRow, ...]
    summaries: tuple[AttemptSummary, ...]

    @property
    def settings(self) -> PlanSettings:
        """What the teacher set."""
        return PlanSettings(
            minutes=self.student.minutes,
            rest_days=frozenset(self.student.rest_days),
            lessons=lessons(self.student),
            language=self.language,
        )

    def assignment(self, piece_id: int) -> Assignment | None:
        """Return the assignment of a piece, None when the student does not work on it now."""
        return next((one for one in self.assignments if one.piece == str(piece_id)), None)

    def of_patch(self, piece: str, patch_id: str) -> tuple[AttemptSummary, ...]:
        """Return the attempts that count for a patch, in their order."""
        return tuple(one for one in self.summaries if one.patch == patch_id and one.piece == piece)

    def patch(self, piece_id: int, patch_id: str) -> Patch:
        """Return a patch of an assigned piece."""
        assigned = next(one for one in self.assignments if one.piece == str(piece_id))
        return next(one for one in assigned.patches if one.id == patch_id)

    def step(self, patch: Patch, step_id: str) -> Step:
        """Return a step of a patch's ladder."""
        steps = ladder_for(patch, self.level, self.ladders).steps
        return next(step for step in steps if step.id == step_id)


def lessons(student: StudentRow) -> Lessons | None:
    """Return when a student comes to lessons, None when the teacher set no day."""
    day = student.lesson_date
    return Lessons(date.fromisoformat(day), student.lesson_every_weeks) if day else None


@dataclass(frozen=True)
class Kept:
    """A history at hand: for which assignments it was made, and how much had been added by then."""

    made_for: tuple[object, ...]
    changes: int
    opened: tuple[OpenedPatch, ...]
    history: History


def summary(row: AttemptRow, patch_id: str) -> AttemptSummary:
    """Return an attempt as the plan reads it, counted for `patch_id`."""
    return AttemptSummary(
        piece=str(row.piece_id),
        patch=patch_id,
        step=row.step_id,
        day=date.fromisoformat(row.day),
        minutes=row.seconds / 60,
        accuracy=row.accuracy,
        evenness_ms=row.evenness_ms,
        togetherness_ms=row.togetherness_ms,
        hesitations=row.hesitations,
        complete=row.complete,
        self_judged=row.self_judgement,
    )


def patch_with(patches: Sequence[Patch], patch_id: str, first: int, last: int) -> Patch | None:
    """Return the patch that an attempt on measures `first` to `last` counts for now."""
    fitting = [one for one in patches if (one.first_measure, one.last_measure) == (first, last)]
    same = next((one for one in fitting if one.id == patch_id), None)
    return same or next((one for one in fitting if _joins(one.id) == _joins(patch_id)), None)


def _joins(patch_id: str) -> str:
    """Return what kind of patch an id stands for: "+" a seam, "-" a pair, the whole, or a plain patch."""
    return "whole" if patch_id == "whole" else "".join(sign for sign in "+-" if sign in patch_id)


def summaries(
    rows: Iterable[AttemptRow],
    opened: Iterable[OpenedPatch],
    assigned: Iterable[Assignment],
    ladders: Ladders,
) -> tuple[AttemptSummary, ...]:
    """Return attempts and answered puzzles together, in the order in which they happened."""
    by_piece = {one.piece: one for one in assigned}
    timed = [(row.started_at, summary(row, counted_for(row, by_piece))) for row in rows]
    for one in opened:
        found = _opening(one, by_piece, ladders)
        if found is not None:
            timed.append((one.answered_at, found))
    return tuple(one for _, one in sorted(timed, key=lambda pair: pair[0]))


def counted_for(row: AttemptRow, by_piece: Mapping[str, Assignment]) -> str:
    """Return the id of the patch that an attempt counts for, or one that is no patch's."""
    assigned = by_piece.get(str(row.piece_id))
    if assigned is None:
        return row.patch_id
    found = patch_with(assigned.patches, row.patch_id, row.first_measure, row.last_measure)
    return found.id if found else f"{row.patch_id} (as it was)"


def _opening(one: OpenedPatch, by_piece: Mapping[str, Assignment], ladders: Ladders) -> AttemptSummary | None:
    """Return an answered puzzle as an attempt on the step of its patch that asks for one."""
    assigned = by_piece.get(str(one.piece_id))
    patch = next((each for each in assigned.patches if each.id == one.patch_id), None) if assigned else None
    if assigned is None or patch is None:
        return None
    step = puzzle_step(ladder_for(patch, assigned.level, ladders))
    if step is None:
        return None
    return AttemptSummary(str(one.piece_id), patch.id, step, date.fromisoformat(one.day), one.minutes)


def puzzle_step(ladder: Ladder) -> str | None:
    """Return the id of the step that asks for a puzzle, if the ladder has one."""
    return next((step.id for step in ladder.steps if step.kind == "puzzle"), None)
