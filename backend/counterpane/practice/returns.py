"""When a finished patch is to be played again: spaced returns by the `fsrs` library.

The rating of a day, derived from the attempts on the last step of the ladder on that day (rule of this project):

| rating | when |
|---|---|
| again (1) | the first attempt misses its goals, and no attempt of the day meets them |
| hard (2) | the first attempt misses, a later one meets them |
| good (3) | the first attempt meets every goal |
| easy (4) | the first attempt meets them with room to spare: at most half the allowed errors, every spread at
most 70 % of its goal, no hesitation; never when the student judged alone |

The first attempt counts most because it is the one that shows what was kept since the last time. Steps below the
last one are practice and no test, and are not rated. A run of a pair or of the whole is a return of each
patch, seam and pair in it. On the day on which the ladder is finished the first attempt at the last step counts
in the same way.

The scheduler runs without chance (no fuzz) and without steps within a day. The wanted recall is 0.9, the longest
interval 21 days, so that in a term each section is met at least every three weeks. Days are put at noon UTC.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from functools import lru_cache
from itertools import groupby

from fsrs import Card, Rating, Scheduler

from counterpane.model.practice import AttemptSummary, Goals, Step
from counterpane.practice.progress import is_good

WANTED_RECALL = 0.9
LONGEST_DAYS = 21
_SCHEDULER = Scheduler(
    desired_retention=WANTED_RECALL,
    learning_steps=(),
    relearning_steps=(),
    maximum_interval=LONGEST_DAYS,
    enable_fuzzing=False,
)


@dataclass(frozen=True)
class Review:
    """One day's rating of one patch: 1 (again) to 4 (easy)."""

    day: date
    rating: int


@dataclass(frozen=True)
class Return:
    """When a patch is due, and how far it is remembered (0 to 1) on the day that was asked about."""

    due: date
    recall: float


def rating_of_day(step: Step, attempts: Sequence[AttemptSummary]) -> int:
    """Return the rating 1 to 4 of one day's attempts at `step`; the table above is the rule."""
    first = attempts[0]
    if not is_good(step, first):
        return int(Rating.Hard if any(is_good(step, each) for each in attempts[1:]) else Rating.Again)
    return int(Rating.Easy if _with_room(step.goals, first) else Rating.Good)


def _with_room(goals: Goals, attempt: AttemptSummary) -> bool:
    if attempt.self_judged is not None or attempt.hesitations != 0 or attempt.accuracy is None:
        return False
    pairs = ((goals.evenness_ms, attempt.evenness_ms), (goals.togetherness_ms, attempt.togetherness_ms))
    steady = all(goal is None or (value is not None and value <= 0.7 * goal) for goal, value in pairs)
    allowed = 0.0 if goals.accuracy is None else (1 - goals.accuracy) / 2
    return steady and 1 - attempt.accuracy <= allowed + 1e-9


def reviews(step: Step, attempts: Iterable[AttemptSummary], finished_on: date) -> tuple[Review, ...]:
    """Return one review for each day from `finished_on` with attempts at `step` (the last of its ladder).

    Where the last step was done before the others, the latest day of it stands for the finishing day.
    """
    at_last = [each for each in attempts if each.step == step.id]
    latest = at_last[-1].day if at_last else finished_on
    tests = [each for each in at_last if each.day >= min(finished_on, latest)]
    return tuple(
        Review(day, rating_of_day(step, list(tries))) for day, tries in groupby(tests, key=lambda each: each.day)
    )


def next_return(history: Iterable[Review], day: date) -> Return:
    """Return when a patch with these reviews (at least one) is due again, and its recall on `day`.

    Two reviews on one day count as the lower rating.
    """
    by_day: dict[date, int] = {}
    for review in history:
        by_day[review.day] = min(review.rating, by_day.get(review.day, review.rating))
    card = _card(tuple(sorted(by_day.items())))
    recall = _SCHEDULER.get_card_retrievability(card, _noon(day))
    return Return(card.due.date(), float(recall))


@lru_cache(maxsize=4096)
def _card(history: tuple[tuple[date, int], ...]) -> Card:
    if not history:
        return Card(card_id=1, due=datetime(1, 1, 1, tzinfo=UTC))
    day, rating = history[-1]
    return _SCHEDULER.review_card(_card(history[:-1]), Rating(rating), _noon(day))[0]


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(12), UTC)
