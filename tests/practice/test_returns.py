"""Spaced returns: the rating of a day, derived from measured attempts, and when a section is due again."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.model.practice import AttemptSummary
from counterpane.practice.returns import LONGEST_DAYS, WANTED_RECALL, Review, next_return, rating_of_day, reviews
from tests.practice.pieces import Heard, attempt
from tests.practice.test_progress import step

DAY = date(2026, 1, 5)
AGAIN, HARD, GOOD, EASY = 1, 2, 3, 4
MET: Heard = {"accuracy": 0.9, "evenness_ms": 50.0, "togetherness_ms": 60.0, "hesitations": 0}
MISSED: Heard = {**MET, "accuracy": 0.7}
WITH_ROOM: Heard = {"accuracy": 0.95, "evenness_ms": 35.0, "togetherness_ms": 42.0, "hesitations": 0}

RATINGS: list[tuple[list[Heard], int]] = [
    ([MISSED], AGAIN),
    ([MISSED, MISSED], AGAIN),
    ([MISSED, MET], HARD),
    ([MET], GOOD),
    ([MET, MISSED], GOOD),  # the first attempt shows what was kept
    ([WITH_ROOM], EASY),
    ([MISSED, WITH_ROOM], HARD),
    ([{**WITH_ROOM, "hesitations": 1}], GOOD),
    ([{**WITH_ROOM, "evenness_ms": 36.0}], GOOD),
    ([{**WITH_ROOM, "togetherness_ms": None}], GOOD),  # not measured is not shown to be easy
    ([{**WITH_ROOM, "accuracy": 0.94}], GOOD),
    ([{"accuracy": None, "self_judged": (3, 3, 3)}], GOOD),  # never easy when the student judged alone
    ([{"accuracy": None, "self_judged": (1, 2, 2)}], AGAIN),
    ([{**WITH_ROOM, "complete": False}], AGAIN),
]


@pytest.mark.parametrize(("values", "rating"), RATINGS)
def test_the_rating_follows_from_the_measured_attempts(values: list[Heard], rating: int) -> None:
    """A table of days: the attempts in order, and the rating that they earn."""
    last = step("in-tempo")
    assert rating_of_day(last, [attempt(**each) for each in values]) == rating


def test_only_the_last_step_from_the_finishing_day_on_is_rated() -> None:
    """Slow practice is no test, nor is the last step before the ladder was done."""
    last = step("in-tempo")
    days = [DAY + timedelta(days=n) for n in range(3)]
    made: list[AttemptSummary] = [
        attempt(day=days[0], **MET),
        attempt(day=days[1], step="together", **MISSED),
        attempt(day=days[1], **MET),
        attempt(day=days[2], **MISSED),
        attempt(day=days[2], **MET),
    ]
    assert reviews(last, made, days[1]) == (Review(days[1], GOOD), Review(days[2], HARD))


def test_a_last_step_that_was_done_first_still_counts() -> None:
    """When the other steps were made up for later, the section is due all the same."""
    last = step("in-tempo")
    made = [attempt(day=DAY, **MET), attempt(day=DAY + timedelta(days=3), step="together", **MET)]
    assert reviews(last, made, DAY + timedelta(days=3)) == (Review(DAY, GOOD),)


def test_a_better_rating_rests_longer() -> None:
    """Again, hard, good and easy give intervals in that order, the shortest a day."""
    days = [(next_return([Review(DAY, rating)], DAY).due - DAY).days for rating in (AGAIN, HARD, GOOD, EASY)]
    assert days == sorted(days)
    assert days[0] == 1
    assert days[3] > days[2] > days[0]


def test_good_returns_grow_and_a_lapse_brings_it_back() -> None:
    """Kept again and again a section rests longer each time, up to three weeks; forgotten it is back in days."""
    history = [Review(DAY, GOOD)]
    rests = []
    for _ in range(6):
        due = next_return(history, DAY).due
        rests.append((due - history[-1].day).days)
        history.append(Review(due, GOOD))
    assert rests == sorted(rests)
    assert rests[-1] == LONGEST_DAYS
    lapsed = [*history, Review(history[-1].day + timedelta(days=1), AGAIN)]
    assert (next_return(lapsed, DAY).due - lapsed[-1].day).days < 7


def test_two_reviews_on_one_day_count_as_the_lower() -> None:
    """A section that went well by itself and badly in a pair is not safe."""
    mixed = next_return([Review(DAY, GOOD), Review(DAY, AGAIN)], DAY)
    assert mixed == next_return([Review(DAY, AGAIN)], DAY)


@given(st.lists(st.tuples(st.integers(1, 30), st.integers(1, 4)), min_size=1, max_size=12))
def test_any_history_gives_a_day_ahead_and_a_recall(gaps: list[tuple[int, int]]) -> None:
    """The due day lies 1 to 21 days ahead, and recall is then still about what is wanted."""
    day = DAY
    history = []
    for gap, rating in gaps:
        day += timedelta(days=gap)
        history.append(Review(day, rating))
    found = next_return(history, day)
    assert 1 <= (found.due - day).days <= LONGEST_DAYS
    assert found.recall == 1.0
    on_due_day = next_return(history, found.due).recall
    # Whole days: the interval is rounded, so the recall may lie a little below what is wanted.
    assert on_due_day >= WANTED_RECALL - 0.03 or (found.due - day).days == 1


def test_nothing_is_left_to_chance() -> None:
    """The same history gives the same day, every time."""
    history = [Review(DAY, GOOD), Review(DAY + timedelta(days=2), GOOD), Review(DAY + timedelta(days=13), HARD)]
    assert len({next_return(history, DAY).due for _ in range(20)}) == 1
