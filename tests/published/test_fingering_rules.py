"""Fingering against the published rules and the scales of the trade.

Source of the rules: R. Parncutt, J. A. Sloboda, E. F. Clarke, M. Raekallio, P. Desain, "An ergonomic model of
keyboard fingering for melodic fragments", Music Perception 14 (1997), 341-382. The table of spans and the worked
example are written from memory of that paper and not compared with the print.

The fingerings of scales are common practice, no source: every scale book gives them.
"""

from __future__ import annotations

import pytest

from counterpane.model.piece import Hand
from counterpane.practice.fingering import cost, fingers_of
from counterpane.practice.fingering_rules import (
    SPANS,
    note_points,
    pair_points,
    position_change,
    span,
    span_points,
)
from tests.practice.pieces import line

# (from finger, to finger): least practical, comfortable, relaxed; most relaxed, comfortable, practical semitones
PUBLISHED_SPANS = {
    (1, 2): (-5, -3, 1, 5, 8, 10),
    (1, 3): (-4, -2, 3, 7, 10, 12),
    (1, 4): (-3, -1, 5, 9, 12, 14),
    (1, 5): (-1, 1, 7, 10, 13, 15),
    (2, 3): (1, 1, 1, 2, 3, 5),
    (2, 4): (1, 1, 3, 4, 5, 7),
    (2, 5): (2, 2, 5, 6, 8, 10),
    (3, 4): (1, 1, 1, 2, 2, 4),
    (3, 5): (1, 1, 3, 4, 5, 7),
    (4, 5): (1, 1, 1, 2, 3, 5),
}

WHITE, BLACK = False, True


def test_the_table_of_spans_is_the_published_one() -> None:
    """Ten pairs of fingers, six numbers each, growing from least to most."""
    assert {pair: tuple(limits) for pair, limits in SPANS.items()} == PUBLISHED_SPANS
    assert all(list(limits) == sorted(limits) for limits in PUBLISHED_SPANS.values())


RULES = [
    # (rule, points, what the rule says)
    ("1 stretch", 2 * 1 + 1 * 4, span_points(1, 2, 9)),  # one beyond comfort at two, four beyond ease at one
    ("2 small span, thumb", 1 * 2, span_points(1, 3, 1)),
    ("2 small span, no thumb", 2 * 2, span_points(2, 4, 1)),
    ("3 large span, thumb", 1 * 2, span_points(1, 2, 7)),
    ("3 large span, no thumb", 2 * 1, span_points(2, 3, 3)),
    ("6 weak finger", 1, note_points(4, WHITE, WHITE, WHITE)),
    ("6 strong finger", 0, note_points(3, WHITE, WHITE, WHITE)),
    ("8 three to four", 1, pair_points(3, 4, 2, (WHITE, WHITE))),
    ("8 four to three", 0, pair_points(4, 3, -2, (WHITE, WHITE))),
    ("9 four on black", 1, pair_points(4, 3, -1, (BLACK, WHITE))),
    ("10 thumb on black among black", 1, note_points(1, BLACK, BLACK, BLACK)),
    ("10 thumb on black among white", 5, note_points(1, BLACK, WHITE, WHITE)),
    ("11 five on black among white", 1 + 4, note_points(5, BLACK, WHITE, WHITE)),  # and rule 6
    ("11 five on black among black", 1 + 0, note_points(5, BLACK, BLACK, BLACK)),
    ("12 thumb passes on one level", 1 + 5, pair_points(3, 1, 2, (WHITE, WHITE))),  # and five of small span
    ("12 thumb passes onto black", 3 + 4, pair_points(3, 1, 1, (WHITE, BLACK))),  # and four of small span
]


@pytest.mark.parametrize(("rule", "points", "given"), RULES)
def test_each_rule_gives_its_points(rule: str, points: float, given: float) -> None:
    """The points that the paper's rules give, by hand from the table of spans."""
    assert given == points, rule


def test_a_full_and_a_half_change_of_position() -> None:
    """Rules 4 and 5: 2-1-2 over an octave up is half a change (the span is practical or not in between)."""
    # Thumb in the middle, between the outer notes, and an octave from 2 to 2 is not practical: a full change.
    assert position_change((2, 1, 2), 7, 5) == (2.0, 12)
    # From 1 over 2 to 1 two whole tones up: the thumb is not in the middle, so it is half a change.
    assert position_change((1, 2, 1), 2, 2) == (1.0, 4)
    assert position_change((1, 2, 3), 2, 2) == (0.0, 0)


def test_spans_downward_are_those_upward_turned_round() -> None:
    """From 2 down to 1 is as far as from 1 up to 2."""
    assert tuple(span(2, 1)) == (-10, -8, -5, -1, 3, 5)


SCALES: list[tuple[str, Hand, str]] = [
    ("C4 D4 E4 F4 G4 A4 B4 C5", "right", "12312345"),
    ("C5 B4 A4 G4 F4 E4 D4 C4", "right", "54321321"),
    ("C3 D3 E3 F3 G3 A3 B3 C4", "left", "54321321"),
    ("C4 B3 A3 G3 F3 E3 D3 C3", "left", "12312345"),
    ("G4 A4 B4 C5 D5 E5 F#5 G5", "right", "12312345"),
    ("D4 E4 F#4 G4 A4 B4 C#5 D5", "right", "12312345"),
    ("C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5 A5 B5 C6", "right", "123123412312345"),
]


@pytest.mark.parametrize(("notes", "hand", "fingers"), SCALES)
def test_the_scales_of_the_trade(notes: str, hand: Hand, fingers: str) -> None:
    """C, G and D major over one octave and C major over two are fingered as every scale book does."""
    played = line(notes, hand)
    found = fingers_of(played, hand)
    assert "".join(str(found[note.id]) for note in played) == fingers


def test_a_printed_fingering_is_no_cheaper_than_ours_and_near_it() -> None:
    """The five-finger turn C D E F D E C G of a beginner's study, printed 1 2 3 4 2 3 1 5 (common practice)."""
    played = line("C4 D4 E4 F4 D4 E4 C4 G4")
    printed = dict(zip((note.id for note in played), (1, 2, 3, 4, 2, 3, 1, 5), strict=True))
    assert fingers_of(played, "right") == printed
    other = dict(zip((note.id for note in played), (1, 2, 3, 4, 1, 2, 1, 5), strict=True))
    assert cost(played, "right", printed) < cost(played, "right", other)
