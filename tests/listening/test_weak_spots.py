"""Weak spots: trouble that returns, with a trend, and a certainty that grows with the attempts."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.listening.weak_spots import tallies_from_json, weak_spots
from counterpane.model.assessment import MeasureTally
from counterpane.model.piece import Hand


def _tally(measure: int, troubled: int, visits: int = 1, hand: Hand = "left", wrong: int = 0) -> MeasureTally:
    return MeasureTally(measure, hand, visits, troubled, 8, wrong=wrong or troubled)


def test_the_spot_that_returns_comes_first() -> None:
    """Measure 5 troubled in all of four attempts comes before measure 2, troubled once."""
    attempts = [[_tally(5, 1), _tally(2, int(number == 0)), _tally(7, 0)] for number in range(4)]
    found = weak_spots(attempts)
    assert [(spot.measure, spot.hand, spot.troubled, spot.visits) for spot in found] == [
        (5, "left", 4, 4),
        (2, "left", 1, 4),
    ]
    assert found[0].kinds["wrong"] == 4


def test_certainty_grows_with_the_number_of_attempts() -> None:
    """Trouble in every one of 1, 2, 4 and 8 attempts: surer each time, and never quite certain."""
    certainty = [weak_spots([[_tally(3, 1)]] * count)[0].certainty for count in (1, 2, 4, 8)]
    assert certainty == sorted(certainty)
    assert certainty[0] < 0.8 < certainty[2] < certainty[3] < 1


def test_the_middle_of_the_chance_is_the_beta_distributions() -> None:
    """Three of four passes with the prior (1/2, 3/2): mean 3.5/6, by the formula of the Beta distribution."""
    (spot,) = weak_spots([[_tally(1, 3, visits=4)]])
    assert spot.share == pytest.approx(3.5 / 6, abs=0.002)
    assert spot.low < spot.share < spot.high


@pytest.mark.parametrize(
    ("row", "trend"),
    [
        ([1, 1, 1, 1, 0, 0, 0, 0], "better"),
        ([0, 0, 0, 1, 1, 1, 1, 1], "worse"),
        ([1, 0, 1, 0, 1, 0, 1, 0], "steady"),
        ([1, 1, 1, 1, 1, 1, 1, 1], "steady"),
        ([1, 0], "steady"),
    ],
)
def test_trend_of_a_spot(row: list[int], trend: str) -> None:
    """Better, worse or steady from the earlier half of the attempts to the later; two attempts tell nothing."""
    (spot,) = weak_spots([[_tally(4, troubled)] for troubled in row])
    assert spot.trend == trend
    assert spot.trend_certainty == 0 if len(row) < 3 else spot.trend_certainty > 0


def test_an_attempt_that_did_not_come_there_says_nothing() -> None:
    """Attempts at other measures neither help nor harm."""
    alone = weak_spots([[_tally(4, 1)], [_tally(4, 1)]])
    mixed = weak_spots([[_tally(4, 1)], [_tally(9, 0)], [_tally(4, 1)], [_tally(4, 0, visits=0)]])
    assert mixed[0] == alone[0]


def test_tallies_come_back_from_json() -> None:
    """What an assessment keeps under `by_measure` is read back; keys of a later engine are left alone."""
    row = {"measure": 2, "hand": "right", "visits": 3, "troubled": 1, "notes": 8, "wrong": 1, "later": True}
    assert tallies_from_json([row]) == (MeasureTally(2, "right", 3, 1, 8, wrong=1),)


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=12))
def test_figures_stay_between_nothing_and_all(rows: list[tuple[int, int]]) -> None:
    """Whatever the history, every chance lies between 0 and 1 and the interval around its mean."""
    attempts = [[_tally(1, min(pair), visits=max(pair))] for pair in rows]
    for spot in weak_spots(attempts):
        assert 0 <= spot.low <= spot.share <= spot.high <= 1
        assert 0 <= spot.certainty <= 1
        assert 0 <= spot.trend_certainty <= 1
