"""The scheduler against the test values of the `fsrs` package itself.

Source: py-fsrs (open-spaced-repetition/py-fsrs, MIT licence), tests/test_basic.py of version 6.3:
`test_review_card` (intervals in days), `test_memo_state` (stability and difficulty). The first stabilities are
its parameters w0 to w3. That recall is 90 % at an interval equal to the stability is the definition in the
package's README.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from fsrs import Card, Rating, Scheduler

from counterpane.practice.returns import LONGEST_DAYS, WANTED_RECALL, Review, next_return

RATINGS = "3333331133333"
INTERVALS = [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]
FIRST_STABILITIES = [0.212, 1.2931, 2.3065, 8.2956]


def test_the_package_gives_its_published_intervals() -> None:
    """The installed package schedules as its own tests say, so the parameters are the published ones."""
    scheduler = Scheduler(enable_fuzzing=False)
    card = Card()
    day = datetime(2022, 11, 29, 12, 30, 0, 0, UTC)
    intervals = []
    for rating in RATINGS:
        card, _ = scheduler.review_card(card=card, rating=Rating(int(rating)), review_datetime=day)
        assert card.last_review is not None
        intervals.append((card.due - card.last_review).days)
        day = card.due
    assert intervals == INTERVALS


def test_the_package_gives_its_published_memory_state() -> None:
    """Again and then good five times, after 0, 1, 3, 8 and 21 days: 53.62691 days, difficulty 6.3574867."""
    scheduler = Scheduler()
    card = Card()
    day = datetime(2022, 11, 29, 12, 30, 0, 0, UTC)
    for rating, gap in zip("133333", (0, 0, 1, 3, 8, 21), strict=True):
        day += timedelta(days=gap)
        card, _ = scheduler.review_card(card=card, rating=Rating(int(rating)), review_datetime=day)
    assert card.stability == pytest.approx(53.62691, abs=1e-4)
    assert card.difficulty == pytest.approx(6.3574867, abs=1e-4)


@pytest.mark.parametrize(("rating", "stability"), list(enumerate(FIRST_STABILITIES, start=1)))
def test_a_first_rating_rests_for_its_published_stability(rating: int, stability: float) -> None:
    """After the first rating a section rests for the rounded stability, at least a day."""
    day = date(2026, 1, 5)
    assert (next_return([Review(day, rating)], day).due - day).days == max(1, round(stability))


def test_our_returns_follow_the_published_intervals() -> None:
    """Good after good rests 2, 11 and then 46 days, of which we keep three weeks at most.

    The package's first 0 is a step within a day, which is left out here.
    """
    day = date(2022, 11, 29)
    history: list[Review] = []
    rests = []
    for _ in range(3):
        history.append(Review(day, int(Rating.Good)))
        due = next_return(history, day).due
        rests.append((due - day).days)
        day = due
    assert rests == [min(LONGEST_DAYS, days) for days in INTERVALS[1:4]]


def test_recall_is_as_wanted_when_the_interval_equals_the_stability() -> None:
    """At an interval of the stability the model expects 90 %: 8.2956 days after a first "easy" (parameter w3)."""
    day = date(2026, 1, 5)
    found = next_return([Review(day, int(Rating.Easy))], day)
    assert (found.due - day).days == round(8.2956)
    at_due = next_return([Review(day, int(Rating.Easy))], day + timedelta(days=8)).recall
    assert at_due == pytest.approx(WANTED_RECALL, abs=0.01)
