"""Metronome arithmetic: quarter = 60 is sixty quarters a minute, one a second (common practice, no source)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.practice.difficulty import difficulty
from counterpane.units import ms_to_quarters, quarters_to_ms
from tests.practice.pieces import line, piece

MARKS = [
    # (quarters a minute, note value in quarters, milliseconds)
    (60, Fraction(1), 1000.0),
    (120, Fraction(1), 500.0),
    (60, Fraction(1, 4), 250.0),  # a sixteenth
    (60, Fraction(3, 2), 1500.0),  # a dotted quarter
    (90, Fraction(3, 2), 1000.0),  # dotted quarter = 60
    (72, Fraction(4), 4 * 60_000 / 72),  # a measure of 4/4
]


@pytest.mark.parametrize(("tempo", "value", "milliseconds"), MARKS)
def test_a_metronome_mark_gives_the_length_of_a_note(tempo: float, value: Fraction, milliseconds: float) -> None:
    """Both ways, to the millisecond."""
    assert quarters_to_ms(value, tempo) == pytest.approx(milliseconds)
    assert ms_to_quarters(milliseconds, tempo) == pytest.approx(float(value))


def test_four_sixteenths_a_second_at_quarter_equals_60() -> None:
    """The speed that difficulty names is that of the metronome."""
    found = difficulty(piece(line("C5 D5 E5 F5 " * 4), 1), 1, 1, "right", 60)
    assert found.parts[0][2] == "At the goal tempo the busiest measure has 4.0 attacks a second."
