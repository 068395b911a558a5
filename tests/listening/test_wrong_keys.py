"""What a wrong key costs by its distance and its time: what is likelier costs less."""

from __future__ import annotations

import pytest

from counterpane.listening.alignment.timeline import draw_time_line
from counterpane.listening.alignment.wrong_keys import pitch_cost, time_cost


@pytest.mark.parametrize(("nearer", "further"), [(1, 4), (2, 4), (1, 12), (12, 6), (7, 13)])
def test_the_next_key_and_the_octave_are_likelier_than_any_other(nearer: int, further: int) -> None:
    """A second costs less than the octave, the octave less than a third or a fifth, a ninth most."""
    for sign in (-1, 1):
        cost, more = pitch_cost(sign * nearer), pitch_cost(sign * further)
        assert cost is not None
        assert more is not None
        assert cost < more


@pytest.mark.parametrize("semitones", [0, 15, -15, 24])
def test_the_right_key_and_keys_out_of_reach_are_no_wrong_keys(semitones: int) -> None:
    """Nothing is said to have stood for a note more than a ninth away."""
    assert pitch_cost(semitones) is None


def test_a_key_costs_more_the_further_it_is_from_when_it_was_due() -> None:
    """Quarters of 500 ms: a note between two that were played is due half way, or at the pace of either."""
    line = draw_time_line({0.0: 0.0, 1.0: 500.0, 2.0: 1000.0, 4.0: 3500.0, 5.0: 4000.0}.items(), 500.0)
    due = (1500.0, 2250.0, 3000.0)  # after the one before, half way through the pause, before the one after
    assert [time_cost(line, 3.0, time) for time in due] == [0.0, 0.0, 0.0]
    costs = [time_cost(line, 3.0, 1500.0 - late) for late in (0.0, 50.0, 100.0, 200.0)]
    assert costs == sorted(costs)
    assert costs[0] < costs[1] < costs[2] < costs[3]


def test_an_empty_line_says_no_more_than_that_nothing_is_known() -> None:
    """Where no onset was played, every time costs the most that time can."""
    line = draw_time_line((), 500.0)
    assert time_cost(line, 0.0, 0.0) == time_cost(line, 4.0, 9000.0)
