"""Step up, step back or stay: where the measured attempts have brought a student on a ladder.

Definitions.
- An attempt is good when it was played to its end and meets every goal of its step that was measured. Judged by
  the student alone, it is good when no tap is 1 and the three taps add up to 7 of 9 or more. A step of hearing or
  a puzzle has no goals: doing it is enough.
- A step is done after `repetitions` good attempts, one after the other where `in_a_row` says so.
- `step_back_after` missed attempts in a row on a step lead back: the nearest earlier step of the same hands (else
  the nearest earlier step that is played) has to be shown once more, with one good attempt.
- The step to work on is the first that is not done. Good attempts on other steps count for those steps. Hearing
  and puzzles that were left out count as done when a later step that is played is done.

Attempts on steps that the ladder does not have (it was edited since) are passed over.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from counterpane.model.practice import AttemptSummary, Goals, Ladder, Step

Move = Literal["up", "back", "stay", "done"]
_SELF_JUDGED_LEAST = 7


def is_good(step: Step, attempt: AttemptSummary) -> bool:
    """Say whether `attempt` counts as a good one on `step`."""
    if not attempt.complete:
        return False
    if step.kind != "play":
        return True
    if attempt.self_judged is not None:
        return min(attempt.self_judged) > 1 and sum(attempt.self_judged) >= _SELF_JUDGED_LEAST
    return attempt.accuracy is not None and shortfall(step.goals, attempt) == 0.0


def shortfall(goals: Goals, attempt: AttemptSummary) -> float:
    """Return by how much an attempt misses its goals: 0 when it meets all, 1 for a miss by the whole of a goal.

    The worst goal counts. Accuracy falls short by the share of the allowed errors that it exceeds, a spread in
    milliseconds by the share of the goal that it exceeds.
    """
    gaps = [0.0]
    if goals.accuracy is not None and attempt.accuracy is not None:
        gaps.append((goals.accuracy - attempt.accuracy) / max(0.01, 1 - goals.accuracy))
    for goal, value in (
        (goals.evenness_ms, attempt.evenness_ms),
        (goals.togetherness_ms, attempt.togetherness_ms),
    ):
        if goal is not None and value is not None:
            gaps.append(value / goal - 1)
    # Sums of floating-point shares must not turn a goal that was just met into a miss.
    return max(0.0, round(max(gaps), 9))


@dataclass
class _Tally:
    """What was counted on one step so far."""

    good: int = 0
    missed_in_row: int = 0
    done: bool = False


@dataclass(frozen=True)
class StepTally:
    """How far one step is: good attempts that count, and whether it is done."""

    step: str
    good: int
    done: bool


@dataclass(frozen=True)
class Standing:
    """Where a student stands on a ladder: the step to work on and what the last attempt led to.

    `step` is the last one when everything is done; `finished_on` is the day on which the ladder was first done.
    """

    step: Step
    index: int
    good: int
    missed_in_row: int
    done_steps: int
    move: Move
    finished_on: date | None
    tallies: tuple[StepTally, ...]

    @property
    def finished(self) -> bool:
        """Whether the whole ladder has been done once."""
        return self.finished_on is not None


@dataclass
class _Walk:
    """A walk along the ladder, one attempt after the other."""

    ladder: Ladder
    tallies: list[_Tally]
    index: int = 0
    move: Move = "stay"
    finished_on: date | None = None
    by_id: dict[str, int] = field(default_factory=dict)

    def take(self, attempt: AttemptSummary) -> None:
        at = self.by_id.get(attempt.step)
        if at is None:
            return
        before = self.index
        self._count(at, is_good(self.ladder.steps[at], attempt))
        if self.ladder.steps[at].kind == "play" and self.tallies[at].done:
            self._pass_over(at)
        self.index = next((i for i, tally in enumerate(self.tallies) if not tally.done), len(self.tallies))
        if self.index == len(self.tallies):
            self.move = "done"
            self.finished_on = self.finished_on or attempt.day
        else:
            self.move = "up" if self.index > before else "back" if self.index < before else "stay"

    def _count(self, at: int, good: bool) -> None:
        step, tally = self.ladder.steps[at], self.tallies[at]
        if good:
            tally.good += 1
            tally.missed_in_row = 0
            tally.done = tally.done or tally.good >= step.repetitions
            return
        tally.missed_in_row += 1
        if step.in_a_row and not tally.done:
            tally.good = 0
        if at == self.index and tally.missed_in_row >= step.step_back_after:
            tally.missed_in_row = 0
            self._reopen(at)

    def _pass_over(self, at: int) -> None:
        """Count the hearing and the puzzles before a step that is done as done: their moment has passed."""
        for step, tally in zip(self.ladder.steps[:at], self.tallies, strict=False):
            tally.done = tally.done or step.kind != "play"

    def _reopen(self, at: int) -> None:
        back = _step_before(self.ladder.steps, at)
        if back is not None:
            self.tallies[back].done = False
            self.tallies[back].good = self.ladder.steps[back].repetitions - 1


def _step_before(steps: Sequence[Step], at: int) -> int | None:
    played = [i for i in range(at) if steps[i].kind == "play"]
    same = [i for i in played if steps[i].hands == steps[at].hands]
    return next(reversed(same or played), None)


def standing(ladder: Ladder, attempts: Iterable[AttemptSummary]) -> Standing:
    """Return where the attempts on one patch, in the order in which they were made, have led."""
    by_id = {step.id: index for index, step in enumerate(ladder.steps)}
    walk = _Walk(ladder, [_Tally() for _ in ladder.steps], by_id=by_id)
    for attempt in attempts:
        walk.take(attempt)
    index = min(walk.index, len(ladder.steps) - 1)
    tally = walk.tallies[index]
    tallies = tuple(
        StepTally(step.id, min(each.good, step.repetitions), each.done)
        for step, each in zip(ladder.steps, walk.tallies, strict=True)
    )
    return Standing(
        step=ladder.steps[index],
        index=index,
        good=tally.good,
        missed_in_row=tally.missed_in_row,
        done_steps=sum(each.done for each in tallies),
        move=walk.move,
        finished_on=walk.finished_on,
        tallies=tallies,
    )
