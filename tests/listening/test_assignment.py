"""The assignment of least cost, beside every possible one."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.listening.alignment.assignment import assign

Costs = dict[int, dict[str, float]]


@pytest.mark.parametrize(
    ("costs", "alone", "expected"),
    [
        ({}, 5.0, {}),
        ({1: {}}, 5.0, {}),
        ({1: {"a": 2.0}}, 5.0, {1: "a"}),
        ({1: {"a": 6.0}}, 5.0, {}),
        ({1: {"a": 1.0, "b": 2.0}, 2: {"a": 1.0, "b": 4.0}}, 5.0, {1: "b", 2: "a"}),  # 1 makes way for 2
        ({1: {"a": 1.0}, 2: {"a": 3.0}}, 5.0, {1: "a"}),
        ({1: {"a": 3.0}, 2: {"a": 1.0}}, 5.0, {2: "a"}),  # 1 had it, and is left alone
        ({1: {"a": 0.0, "b": 0.1}, 2: {"b": 0.0, "c": 0.1}, 3: {"a": 0.0}}, 9.0, {3: "a", 1: "b", 2: "c"}),
    ],
)
def test_the_whole_costs_least(costs: Costs, alone: float, expected: dict[int, str]) -> None:
    """Rows with one choice, with rivals, and pushed on to their second or third choice."""
    assert assign(costs, alone) == expected


@given(
    st.dictionaries(
        st.integers(0, 4),
        st.dictionaries(st.sampled_from("abcde"), st.integers(-3, 12).map(float)),
        max_size=5,
    ),
    st.integers(0, 10).map(float),
)
def test_no_other_assignment_costs_less(costs: Costs, alone: float) -> None:
    """The sum is the least of all that there are, and no column is given twice."""
    found = assign(costs, alone)
    assert len(set(found.values())) == len(found)
    sum_found = sum(costs[row][found[row]] if row in found else alone for row in costs)
    assert sum_found == pytest.approx(min(_sums(costs, list(costs), alone, frozenset())))


def _sums(costs: Costs, rows: list[int], alone: float, taken: frozenset[str]) -> Iterator[float]:
    if not rows:
        yield 0.0
        return
    row, *others = rows
    yield from (alone + rest for rest in _sums(costs, others, alone, taken))
    for column in costs[row].keys() - taken:
        yield from (costs[row][column] + rest for rest in _sums(costs, others, alone, taken | {column}))
