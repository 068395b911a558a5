"""The assignment problem: who takes what, so that the sum of costs is least.

Shortest augmenting paths (Kuhn 1955; in this form Jonker and Volgenant 1987) over the pairs that exist only: in a
performance a key can stand for a handful of notes nearby, so that a path seldom leads far.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from heapq import heappop, heappush
from itertools import count
from math import inf
from typing import Generic, TypeVar

Row = TypeVar("Row", bound=Hashable)
Column = TypeVar("Column", bound=Hashable)


def assign(costs: Mapping[Row, Mapping[Column, float]], alone: float) -> dict[Row, Column]:
    """Return the column of each row that gets one; every row and every column has at most one partner.

    `costs` has what possible pairs cost. A row without a column costs `alone`, a column without a row nothing.
    """
    assignment = _Assignment(costs, alone)
    for row in costs:
        assignment.take_in(row)
    return assignment.column_of


class _Assignment(Generic[Row, Column]):
    """The best assignment of the rows taken in so far.

    A column's price is what its row would pay to keep it: with prices in the costs, no row that has a column would
    rather have another one.
    """

    def __init__(self, costs: Mapping[Row, Mapping[Column, float]], alone: float) -> None:
        self.costs = costs
        self.alone = alone
        self.column_of: dict[Row, Column] = {}
        self.row_of: dict[Column, Row] = {}
        self.prices: dict[Column, float] = {}

    def take_in(self, start: Row) -> None:
        """Let one more row have a column, if that is worth it, and others move on to their next best."""
        heap: list[tuple[float, int, Column]] = []
        ticket = count()
        came_from: dict[Column, Row] = {}
        least: dict[Column, float] = {}
        passed: dict[Column, float] = {}
        left_over, cost_alone = start, self.alone
        row, cost_so_far = start, 0.0
        while True:
            held = self._cost_held(row)
            if cost_so_far + self.alone - held < cost_alone:
                left_over, cost_alone = row, cost_so_far + self.alone - held
            for column, cost in self.costs[row].items():
                cost_there = cost_so_far + cost + self.prices.get(column, 0.0) - held
                if column not in passed and cost_there < least.get(column, inf):
                    least[column], came_from[column] = cost_there, row
                    heappush(heap, (cost_there, next(ticket), column))
            while heap and heap[0][-1] in passed:
                heappop(heap)
            if not heap or heap[0][0] >= cost_alone:
                break
            cost_so_far, _, column = heappop(heap)
            if column not in self.row_of:
                self._raise_prices(passed, cost_so_far)
                self._hand_on(column, came_from, start)
                return
            passed[column] = cost_so_far
            row = self.row_of[column]
        self._raise_prices(passed, cost_alone)
        if left_over != start:
            self._hand_on(self.column_of.pop(left_over), came_from, start)

    def _cost_held(self, row: Row) -> float:
        if row not in self.column_of:
            return 0.0
        column = self.column_of[row]
        return self.costs[row][column] + self.prices.get(column, 0.0)

    def _raise_prices(self, passed: Mapping[Column, float], total: float) -> None:
        for column, cost in passed.items():
            self.prices[column] = self.prices.get(column, 0.0) + total - cost

    def _hand_on(self, column: Column, came_from: Mapping[Column, Row], start: Row) -> None:
        """Give a column to the row that wanted it, the column of that row to the next, back to the first row."""
        while True:
            row = came_from[column]
            given_up = self.column_of.get(row)
            self.column_of[row], self.row_of[column] = column, row
            if row == start:
                return
            assert given_up is not None
            column = given_up
