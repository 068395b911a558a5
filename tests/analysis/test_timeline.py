"""What is about at a time, of things that last."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from counterpane.analysis.timeline import Timeline

TIMES = st.integers(0, 12) | st.fractions(0, 12, max_denominator=6)
SPANS = st.lists(st.tuples(TIMES, TIMES).map(sorted).map(tuple), max_size=12)


@given(SPANS, TIMES, TIMES)
def test_all_that_touches_a_stretch_is_found_in_the_order_given(
    spans: list[tuple[Fraction, Fraction]], one: Fraction, other: Fraction
) -> None:
    """Looking at everything finds the same."""
    start, end = sorted((one, other))
    touching = [number for number, span in enumerate(spans) if span[0] <= end and span[1] >= start]
    assert Timeline((*span, number) for number, span in enumerate(spans)).touching(start, end) == touching


def test_nothing_touches_an_empty_timeline() -> None:
    """A piece may have no sequences at all."""
    assert Timeline[str]([]).touching(0, 4) == []
