"""Every patch of a student's pieces with its ladder, its attempts and where it stands on a day.

A patch is *new* until its first attempt, *in work* until its ladder is done, then *secure*, and *due* from the
day on which the scheduler wants it back.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from counterpane.model.practice import Assignment, AttemptSummary, Ladder, Patch, PatchState, Step
from counterpane.practice.ladders import Ladders, ladder_for
from counterpane.practice.progress import Standing, standing
from counterpane.practice.returns import Return, Review, next_return, reviews

LEAST_MINUTES = 1.0
PUZZLE_MINUTES = 1.5
_BETWEEN_TRIES_MIN = 0.15
_TRIES_PER_GOOD_ONE = 1.5
_NEARLY_DONE_MIN = 4.0


@dataclass(frozen=True)
class Unit:
    """One patch, seam, pair or the whole of one piece, as it stands on a day."""

    assignment: Assignment
    patch: Patch
    ladder: Ladder
    attempts: tuple[AttemptSummary, ...]
    standing: Standing
    returns: Return | None
    state: PatchState

    @property
    def key(self) -> tuple[str, str]:
        """Piece id and patch id."""
        return self.assignment.piece, self.patch.id

    @property
    def finished(self) -> bool:
        """Whether the ladder has been done once."""
        return self.standing.finished

    @property
    def last_day(self) -> date | None:
        """The day of the last attempt."""
        return self.attempts[-1].day if self.attempts else None

    @property
    def days_in_work(self) -> int:
        """On how many days it was practised so far."""
        return len({attempt.day for attempt in self.attempts})

    @property
    def steps_left(self) -> tuple[Step, ...]:
        """The steps that are not done, as far as the next one that wants a night before it."""
        done = {tally.step for tally in self.standing.tallies if tally.done}
        steps = tuple(step for step in self.ladder.steps if step.id not in done)
        until = next((i for i, step in enumerate(steps) if i and step.after_a_night), len(steps))
        return steps[:until]

    @property
    def after_the_night(self) -> bool:
        """Whether the work on it is done but for the steps that want a night before them."""
        until = self.standing.index + 1
        return not self.finished and any(step.after_a_night for step in self.ladder.steps[:until])

    @property
    def nearly_done(self) -> bool:
        """Whether it is begun, and what is left of it is short enough to be done beside another section."""
        if self.finished or not self.attempts:
            return False
        return self.after_the_night or sum(map(self.step_minutes, self.steps_left)) <= _NEARLY_DONE_MIN

    def section_work_on(self, day: date) -> bool:
        """Whether it was the section that was worked on on `day`: steps that wait for no night were practised."""
        night = next((i for i, step in enumerate(self.ladder.steps) if step.after_a_night), len(self.ladder.steps))
        early = {step.id for step in self.ladder.steps[:night] if step.kind == "play"}
        return self.patch.kind == "patch" and any(a.day == day and a.step in early for a in self.attempts)

    def try_minutes(self, step: Step) -> float:
        """Minutes that one try of a step takes, with a breath before it."""
        share = step.tempo_share if step.kind == "play" else 1.0
        return self.patch.quarters / (self.assignment.tempo * share) + _BETWEEN_TRIES_MIN

    def step_minutes(self, step: Step) -> float:
        """Minutes that a step takes: one and a half tries for each good one, at least one minute in all."""
        if step.kind == "puzzle":
            return PUZZLE_MINUTES
        tries = step.repetitions * (_TRIES_PER_GOOD_ONE if step.kind == "play" else 1)
        return max(LEAST_MINUTES, tries * self.try_minutes(step))


def units(
    assignments: Sequence[Assignment], attempts: Iterable[AttemptSummary], day: date, ladders: Ladders
) -> tuple[Unit, ...]:
    """Return all units on `day`, in the order of pieces and patches; later attempts are not looked at."""
    by_key: dict[tuple[str, str], list[AttemptSummary]] = defaultdict(list)
    for attempt in attempts:
        if attempt.day <= day:
            by_key[attempt.piece, attempt.patch].append(attempt)
    return tuple(unit for each in assignments for unit in _units_of(each, by_key, day, ladders))


def _units_of(
    assignment: Assignment,
    by_key: Mapping[tuple[str, str], Sequence[AttemptSummary]],
    day: date,
    ladders: Ladders,
) -> list[Unit]:
    asked = [patch for patch in assignment.patches if _asked(patch, assignment.sections)]
    climbed = []
    own: dict[str, tuple[Review, ...]] = {}
    for patch in asked:
        ladder = ladder_for(patch, assignment.level, ladders)
        attempts = tuple(by_key.get((assignment.piece, patch.id), ()))
        where = standing(ladder, attempts)
        climbed.append((patch, ladder, attempts, where))
        if where.finished_on is not None:
            own[patch.id] = reviews(ladder.steps[-1], attempts, where.finished_on)
    made = []
    for patch, ladder, attempts, where in climbed:
        returns = _returns(patch, asked, own, day) if where.finished else None
        made.append(Unit(assignment, patch, ladder, attempts, where, returns, _state(attempts, returns, day)))
    return made


def _asked(patch: Patch, sections: Sequence[str]) -> bool:
    if not sections:
        return True
    touched = patch.sections or (patch.section,)
    # A join needs all of its sections, or it would lead into music that nobody asked for.
    return any(label in sections for label in touched) if patch.kind == "patch" else set(touched) <= set(sections)


def covers(outer: Patch, inner: Patch) -> bool:
    """Say whether playing `outer` (a pair or the whole) plays all of `inner` too, the seam in it included."""
    inside = set(inner.parts or (inner.id,))
    return outer.kind in ("pair", "whole") and outer.id != inner.id and inside <= set(outer.parts)


def _returns(
    patch: Patch, patches: Iterable[Patch], own: Mapping[str, Sequence[Review]], day: date
) -> Return | None:
    """Reckon with a patch's own reviews and, after them, with those of the pairs and wholes that hold it."""
    history = own[patch.id]
    if not history:
        return None
    through = [
        review
        for join in patches
        if covers(join, patch)
        for review in own.get(join.id, ())
        if review.day > history[0].day
    ]
    return next_return([*history, *through], day)


def _state(attempts: Sequence[AttemptSummary], returns: Return | None, day: date) -> PatchState:
    if not attempts:
        return "new"
    if returns is None:
        return "in work"
    return "due" if returns.due <= day else "secure"
