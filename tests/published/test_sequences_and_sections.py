"""Sequences, cadences, sections and the count table of two pieces by J. S. Bach, as teachers and books have them.

Encodings: tests/published/scores, by hand from the Bach-Gesellschaft edition.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from counterpane.analysis import analyse
from counterpane.model.analysis import Analysis, Sequence
from counterpane.score import read_score
from tests.published.chorale_analyses import BACH

SCORES = Path(__file__).parent / "scores"


@cache
def analysis_of(name: str) -> Analysis:
    return analyse(read_score(SCORES / f"{name}.krn").piece)


def sequences_in(analysis: Analysis, first: int, last: int, hand: str) -> list[Sequence]:
    """Return the sequences of a hand that lie mostly in the measures first to last."""
    return [
        q
        for q in analysis.sequences
        if hand in q.hands and first <= q.start.measure and (q.start.measure + q.end.measure) / 2 <= last + 0.5
    ]


@pytest.mark.parametrize(
    ("name", "first", "last", "hand", "count", "direction"),
    [
        # Common practice, no source; for measures 3-4 the systematic downward transposition is described in
        # Spalding, Music: An Art and a Language (1920).
        ("bwv772", 3, 4, "right", 4, "falling"),
        ("bwv772", 11, 12, "left", 4, "falling"),
        ("bwv772", 19, 20, "right", 3, "rising"),
        # Surette and Mason, The Appreciation of Music, vol. 1 (1907), example for analysis 1.
        ("bwv779", 4, 6, "right", 3, "falling"),
        ("bwv779", 21, 23, "right", 3, "falling"),
        ("bwv779", 24, 25, "right", 2, "falling"),
    ],
)
def test_sequences_that_books_name(
    name: str, first: int, last: int, hand: str, count: int, direction: str
) -> None:
    """Each sequence is found in its measures and hand, with its count and direction."""
    found = sequences_in(analysis_of(name), first, last, hand)
    assert [(q.count, q.direction) for q in found] == [(count, direction)]


def test_sections_and_count_table_of_bwv_772() -> None:
    """The count table reads 4, 4, 2 · 8, 4, 2 · 8, 3 and a closing (common practice, no source)."""
    analysis = analysis_of("bwv772")
    labels = [(s.label, s.first_measure, s.last_measure) for s in analysis.sections]
    assert labels == [
        ("A1", 1, 2),
        ("B1", 3, 4),
        ("C1", 5, 6),
        ("A2", 7, 10),
        ("B2", 11, 12),
        ("C2", 13, 14),
        ("A3", 15, 18),
        ("B3", 19, 20),
        ("closing", 21, 22),
    ]
    assert [cell.statements for cell in analysis.count_table][:8] == [4, 4, 2, 8, 4, 2, 8, 3]
    b_cells = [cell for cell in analysis.count_table if cell.kind == "B"]
    assert [(c.upright, c.inverted, c.right, c.left, c.sequence) for c in b_cells] == [
        (0, 4, 4, 0, "falling"),
        (0, 4, 0, 4, "falling"),
        (3, 0, 3, 0, "rising"),
    ]


def test_what_changed_the_third_time_in_bwv_772() -> None:
    """The sequence rises where it fell, upright where it was inverted, with one copy fewer."""
    (third,) = [c for c in analysis_of("bwv772").comparisons if (c.first, c.second) == ("B1", "B3")]
    texts = [difference.text for difference in third.differences]
    assert "The sequence rises where it fell." in texts
    assert "The subject is upright where it was inverted." in texts
    assert "The sequence has one copy fewer: 3 where there were 4." in texts
    (second,) = [c for c in analysis_of("bwv772").comparisons if (c.first, c.second) == ("B1", "B2")]
    assert "The hands are exchanged: the left hand states what the right hand stated." in [
        d.text for d in second.differences
    ]


def test_cadences_of_bwv_772() -> None:
    """In G at measure 7, where Spalding (1920) has the dominant reached, in A minor at 15, in C at the end."""
    cadences = [(c.place.measure, c.place.beat, c.key, c.kind) for c in analysis_of("bwv772").cadences]
    assert cadences == [
        (7, 1, "G major", "authentic"),
        (15, 1, "A minor", "authentic"),
        (22, 1, "C major", "authentic"),
    ]


def test_peak_of_bwv_772() -> None:
    """The rising sequence of measures 19 and 20 leads to the highest note, C6 (common practice, no source)."""
    analysis = analysis_of("bwv772")
    assert analysis.peak is not None
    assert (analysis.peak.pitch, analysis.peak.place.measure, analysis.peak.place.beat) == ("C6", 20, 2)
    (leading,) = [q for q in analysis.sequences if q.id == analysis.peak.sequence]
    assert (leading.count, leading.direction) == (3, "rising")


def test_keys_of_bwv_779() -> None:
    """At measure 12 the lower voice leads in C (Surette and Mason 1907); both ends are in F (signature)."""
    analysis = analysis_of("bwv779")
    keys = {key.measure: key.key for key in analysis.keys}
    assert analysis.key == keys[1] == keys[34] == "F major"
    assert keys[12] == "C major"
    assert (12, "C major") in [(c.place.measure, c.key) for c in analysis.cadences]
    leads = [s for s in analysis.statements if s.start.measure >= 12][:1]
    assert [s.hand for s in leads] == ["left"]


@pytest.mark.parametrize(
    ("name", "key"),
    [
        # The keys that the titles of the works give.
        ("bwv1080_1_exposition", "D minor"),
        ("bwv846_exposition", "C major"),
        ("bwv847_exposition", "C minor"),
        ("pachelbel_canon", "D major"),
    ],
)
def test_keys_that_titles_give(name: str, key: str) -> None:
    """The key of the piece is the one in its title."""
    assert analysis_of(name).key == key


def test_the_first_prelude_of_the_well_tempered_clavier() -> None:
    """BWV 846: measures 5-6 return a step lower in 7-8; a dominant pedal leads to the tonic pedal of the end.

    Common practice, no source; the score is music21's (bach/bwv846.mxl).
    """
    analysis = analyse(read_score(BACH / "bwv846.mxl").piece)
    (lower,) = [q for q in analysis.sequences if q.start.measure == 5]
    assert (lower.hands, lower.count, lower.step, lower.end.measure) == (("right", "left"), 2, -1, 8)
    assert [q for q in analysis.sequences if q.start.measure < 5] == []
    assert [pedal.pitch for pedal in analysis.pedal_points] == ["G2", "C2"]
