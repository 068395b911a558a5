"""Sections: where they begin, what they are called, what they hold, and how they are compared."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest

from counterpane.analysis import analyse
from counterpane.analysis.phrases import letter
from counterpane.analysis.sections import Found, Span, label
from counterpane.analysis.subject_choice import parse_subject_choice
from counterpane.model.analysis import Analysis, Section
from counterpane.model.piece import Piece
from tests.analysis.compositions import compose as compose_fugal
from tests.analysis.planted_sequences import compose, compose_without
from tests.analysis.test_sequences import copies, moved
from tests.analysis.test_subject import walk
from tests.analysis.written import piece

SUBJECT = "r:1/4 C5:1/4 D5:1/4 E5:1/4 F5:1/4 D5:1/4 E5:1/4 C5:1/4"
TURNED = "r:1/4 G5:1/4 F5:1/4 E5:1/4 D5:1/4 F5:1/4 E5:1/4 G5:1/4"
CLOSE = ("E5:1 D5:1 D5:1 B4:1 C5:4", "C3:1 F3:1 G3:1 G2:1 C3:4")
WAIT = "G5:1/2 C5:1/2 B4:1/2 C5:1/2"


def invention() -> Piece:
    """Two measures of answers, two of falling sequence in the right hand; then both with the hands exchanged."""
    answers = [
        f"{SUBJECT} {WAIT} {moved(SUBJECT, 4)} {moved(WAIT, 4)}",
        f"{moved(WAIT, -7)} {moved(SUBJECT, -14)}",
    ]
    right, left = answers[0], f"{answers[1]} {moved(WAIT, -10)} {moved(SUBJECT, -10)}"
    falling = " ".join(moved(TURNED, -2 * copy) for copy in range(4))
    walking = "C3:1/2 B3:1/2 C4:1/2 E3:1/2 A3:1/2 G3:1/2 F3:1/2 D3:1/2 E3:1 C3:1 F3:1 D3:1"
    second_right = f"{moved(left, 14)} {moved(walking, 14)}"
    second_left = f"{moved(right, -14)} {moved(falling, -14)}"
    return piece(f"{right} {falling} {second_right} {CLOSE[0]}", f"{left} {walking} {second_left} {CLOSE[1]}")


def analysed() -> Analysis:
    """Return the analysis of the invention with its subject of half a measure marked."""
    return analyse(invention(), parse_subject_choice("right:1:1.25-1:2.75"))


def spans(analysis: Analysis) -> list[tuple[str, int, int]]:
    return [(s.label, s.first_measure, s.last_measure) for s in analysis.sections]


def test_answers_and_sequences_are_sections_of_two_kinds() -> None:
    """A B A B: the same letter where the subject is treated alike, the number says which time."""
    labels = [label for label, _, _ in spans(analysed())]
    assert labels[:4] == ["A1", "B1", "A2", "B2"]


@pytest.mark.parametrize("seed", range(6))
def test_no_section_begins_while_a_voice_is_still_answering(seed: int) -> None:
    """A subject of a measure and a half, answered from measure 3 to 4 with no cadence there, among free lines."""
    random = Random(seed)
    tune = "C5:1 E5:1/2 D5:1/2 G5:1 F5:1/2 E5:1/2 A4:1/2 B4:1/2 C5:1"
    high = f"{tune} r:2 {walk(random, 6, 4)} {moved(tune, 4)} r:2 {walk(random, 4, 4)} {CLOSE[0]}"
    low = f"r:8 {moved(tune, -10)} r:2 {walk(random, 8, 2)} {moved(tune, -14)} r:2 {CLOSE[1]}"
    found = analyse(piece(high, low), parse_subject_choice("right:1:1-2:2"))
    [answer] = [one for one in found.statements if one.start.offset == 8]
    assert (answer.extent, answer.end.measure) == ("complete", 4)
    assert 4 not in [section.first_measure for section in found.sections]


def test_an_entry_after_the_cadence_of_a_section_belongs_to_the_next() -> None:
    """The section closes in the middle of its last measure; what enters then is counted with what follows."""
    found = Found(
        statements=tuple(
            one
            for one in analysed().statements
            if one.hand == "left" and one.start.beat > 3 and one.start.measure < 3
        ),
        sequences=(),
        keys=analysed().keys,
        cadences=(replace(analysed().cadences[-1], place=invention().place(Fraction(6))),),
    )
    written = invention()
    both = (Span(0, 1, "A", "", 1.0), Span(2, len(written.measures) - 1, "B", "", 1.0))
    first, second = label(written, found, both)
    begun = {one.id: one.start.measure for one in found.statements}
    assert [begun[name] for name in first.statements] == [1]
    assert [begun[name] for name in second.statements] == [2]


def test_hands_exchanged_are_told_as_a_fact() -> None:
    """The second sequence is in the other hand; the comparison says so, and the count stays the same."""
    analysis = analysed()
    (comparison,) = [c for c in analysis.comparisons if (c.first, c.second) == ("B1", "B2")]
    texts = [d.text for d in comparison.differences]
    assert "The hands are exchanged: the left hand states what the right hand stated." in texts
    assert "count" not in {d.kind for d in comparison.differences}


def test_the_count_table_counts_every_statement_once() -> None:
    """The cells add up to the statements; hands and forms add up in every cell."""
    analysis = analysed()
    assert sum(cell.statements for cell in analysis.count_table) == len(analysis.statements)
    for cell in analysis.count_table:
        assert cell.upright + cell.inverted == cell.right + cell.left == cell.statements


@pytest.mark.parametrize(
    "written",
    [*(compose(seed)[0] for seed in range(3)), *(compose_without(seed) for seed in range(3)), invention()]
    + [compose_fugal(seed).piece for seed in range(3)],
)
def test_sections_divide_the_piece(written: Piece) -> None:
    """Sections are whole measures without a gap, hold every measure, and each has a name of its own."""
    sections = analyse(written).sections
    numbers = [number for s in sections for number in range(s.first_measure, s.last_measure + 1)]
    assert numbers == [measure.number for measure in written.measures]
    assert all(count == 1 for count in Counter(s.label for s in sections).values())


def test_a_piece_without_a_subject_falls_into_phrases_that_begin_alike() -> None:
    """A A B A of four measures each, every one closed by a cadence, without any statement."""
    a = "E5+G4:1 F5+A4:1 E5+G4:1 C5+E4:1 D5+F4:1 B4+D4:1 C5+E4:2"
    b = "D5+B4:1 D5+B4:1 E5+C5:1 D5+B4:1 C5+A4:1 B4+G4:1 D5+B4:1 B4+D4:1 C5+E4:4"
    under_a = "C3:2 C3:1 A2:1 F2:1 G2:1 C3:2"
    under_b = "G2:2 C3:1 G2:1 A2:1 G2:1 F2:1 G2:1 C3:4"
    analysis = analyse(piece(f"{a} {a} {b} {a}", f"{under_a} {under_a} {under_b} {under_a}"))
    assert analysis.subject is None
    assert [s.label for s in analysis.sections] == ["A1", "A2", "B1", "A3"]


def test_a_pickup_belongs_to_the_first_section() -> None:
    """The first section starts in the upbeat measure."""
    first: Section = analyse(piece("G4:1 C5:4 E5:4 G5:4", "r:1 C3:4 C3:4 C3:4", pickup="1")).sections[0]
    assert (first.first_measure, first.start.beat) == (0, 4)


@pytest.mark.parametrize(("number", "name"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA")])
def test_letters_go_on_after_z(number: int, name: str) -> None:
    """A piece with more than twenty-six kinds still names them."""
    assert letter(number) == name


def test_a_rising_sequence_leads_to_the_peak_and_invites_to_grow() -> None:
    """The peak names the sequence, and a suggestion to grow says that it is a proposal and why."""
    rising = copies("C5:1/2 D5:1/4 E5:1/4 D5:1/2 B4:1/2", 1, 4)
    analysis = analyse(piece(f"{rising} C6:4 C5:4", "C3:4 E3:4 C3:4 C3:4"))
    assert analysis.peak is not None
    assert (analysis.peak.pitch, analysis.peak.sequence) == ("C6", "q1")
    grow = next(s for s in analysis.suggestions if s.kind == "grow")
    assert grow.text.startswith("A proposal about style: grow through the rising sequence to the highest note")
    assert "leads to the peak" in grow.reason


def test_a_held_bass_under_moving_parts_is_a_pedal_point() -> None:
    """Two measures of a held G under three different chords are a pedal point; a moving bass is none."""
    right = "B4:1 C5:1 D5:1 E5:1 F5:1 E5:1 D5:1 B4:1 C5:4"
    (found,) = analyse(piece(right, "G2:8 C3:4")).pedal_points
    assert (found.pitch, found.hand) == ("G2", "left")
    assert analyse(piece(right, "G2:1 A2:1 B2:1 C3:1 D3:1 C3:1 B2:1 G2:1 C3:4")).pedal_points == ()
