"""Difficulty: 1 to 10 with its parts, each explained in a sentence."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from counterpane.errors import CounterpaneError, DrillError
from counterpane.model.piece import GraceNote, Hand, Hands, Piece
from counterpane.model.practice import Difficulty
from counterpane.practice.difficulty import difficulty, goal_tempo
from counterpane.practice.difficulty_parts import PARTS
from counterpane.units import pitch_from_name
from tests.analysis.compositions import compose
from tests.practice.pieces import QUARTER, line, piece, running_piece


def part(found: Difficulty, name: str) -> tuple[float, str]:
    return next((value, sentence) for each, value, sentence in found.parts if each == name)


def study(right: str, left: str = "C3 C3 C3 C3", fifths: int = 0) -> Piece:
    return piece([*line(right), *line(left, "left", QUARTER)], 1, fifths=fifths)


EASY = "C5 D5 E5 F5 G5 F5 E5 D5 C5 D5 E5 F5 G5 F5 E5 D5"

HARDER = [
    ("leaps", "C5 C6 C5 C6 C5 C6 C5 C6 C5 C6 C5 C6 C5 C6 C5 C6"),
    ("span", "C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5 A5 B5 C6 D6"),
    ("accidentals", "C5 C#5 D5 D#5 E5 F5 F#5 G5 G#5 G5 F#5 F5 E5 D#5 D5 C#5"),
    ("positions", "C5 A5 C5 A5 D5 B5 D5 B5 E5 C6 E5 C6 F5 D6 F5 D6"),
]


@pytest.mark.parametrize(("name", "right"), HARDER)
def test_each_part_rises_with_what_it_names(name: str, right: str) -> None:
    """Leaps, a wide span, accidentals and changes of position each make their own part greater."""
    easy, hard = (difficulty(study(notes), 1, 1, "right", 60) for notes in (EASY, right))
    assert part(hard, name)[0] > part(easy, name)[0]
    assert hard.score > easy.score


def test_speed_is_attacks_a_second_at_the_goal_tempo() -> None:
    """Sixteenths at 60 quarters a minute are four attacks a second; at 120 eight."""
    assert "4.0 attacks a second" in part(difficulty(study(EASY), 1, 1, "right", 60), "speed")[1]
    assert "8.0 attacks a second" in part(difficulty(study(EASY), 1, 1, "right", 120), "speed")[1]


def test_two_rhythms_that_cross_are_harder_than_two_that_agree() -> None:
    """The same notes in the same rhythm are not independent; a rhythm that strikes in between is."""
    same = piece([*line("C5 D5 E5 F5", "right", QUARTER), *line("C3 D3 E3 F3", "left", QUARTER)], 1)
    crossing = piece(
        [*line("C5 D5 E5 F5", "right", QUARTER), *line("C3 D3 E3", "left", QUARTER, start=Fraction(1, 2))], 1
    )
    assert part(difficulty(same, 1, 1, "both", 60), "independence")[0] == 0
    assert part(difficulty(crossing, 1, 1, "both", 60), "independence")[0] > 0.5


def test_a_note_of_the_key_signature_is_no_accidental() -> None:
    """F sharp is foreign in C major and at home in G major."""
    notes = "F#5 G5 A5 B5 F#5 G5 A5 B5 F#5 G5 A5 B5 F#5 G5 A5 B5"
    assert "4 notes lie outside" in part(difficulty(study(notes), 1, 1, "right", 60), "accidentals")[1]
    assert "No note lies outside" in part(difficulty(study(notes, fifths=1), 1, 1, "right", 60), "accidentals")[1]


def test_ornaments_and_grace_notes_count() -> None:
    """A trill and a grace note are two ornaments."""
    plain = study(EASY)
    notes = tuple(replace(n, ornaments=("trill",)) if n.id == "r0" else n for n in plain.notes)
    grace = GraceNote("g", "right", 1, Fraction(1), pitch_from_name("D5"), "r4", slashed=True)
    found = difficulty(replace(plain, notes=notes, graces=(grace,)), 1, 1, "right", 60)
    assert part(found, "ornaments") == (1.0, "There are 2 ornaments.")


@settings(max_examples=15)
@given(st.integers(0, 500), st.integers(1, 20), st.floats(40, 160))
def test_the_scale_holds_for_any_piece(seed: int, first: int, tempo: float) -> None:
    """Scores lie within 1 and 10; together is never easier than the harder hand, nor faster than slower."""
    of = compose(seed % 40).piece
    first = min(first, len(of.measures))
    hands: tuple[Hands, ...] = ("right", "left", "both")
    right, left, both = (difficulty(of, first, first, hand, tempo) for hand in hands)
    for each in (right, left, both):
        assert 1 <= each.score <= 10
        assert all(0 <= value <= 1 and sentence.endswith(".") for _, value, sentence in each.parts)
    assert both.score >= max(right.score, left.score)
    assert tuple(name for name, _, _ in both.parts) == PARTS
    assert difficulty(of, first, first, "both", tempo * 1.5).score >= both.score


def test_a_passage_without_notes_is_as_easy_as_can_be() -> None:
    """A measure of rest has difficulty 1 in both hands."""
    of = piece(line("C4"), 2)
    hands: tuple[Hand, Hand] = ("right", "left")
    assert [difficulty(of, 2, 2, hand, 60).score for hand in hands] == [1.0, 1.0]


def test_sentences_come_in_german_too() -> None:
    """The language changes the sentences, not the numbers."""
    english, german = (difficulty(study(EASY), 1, 1, "both", 60, language=code) for code in ("en", "de"))
    assert english.score == german.score
    assert "Anschläge in der Sekunde" in part(german, "speed")[1]


@pytest.mark.parametrize(
    ("first", "last", "hands", "tempo", "message"),
    [
        (1, 1, "third", 60, "there is no hand 'third': choose right, left or both"),
        (0, 2, "right", 60, "there is no measure 0: choose 1 to 4"),
        (1, 9, "right", 60, "there is no measure 9: choose 1 to 4"),
        (3, 2, "right", 60, "measure 3 comes after measure 2"),
        (1, 1, "right", 5, "a goal tempo of quarter = 5 cannot be practised"),
    ],
)
def test_bad_input_is_one_sentence(first: int, last: int, hands: Hands, tempo: float, message: str) -> None:
    """A hand, measure or tempo that does not exist is named with what to choose."""
    with pytest.raises(CounterpaneError, match=message):
        difficulty(running_piece(4), first, last, hands, tempo)


def test_a_language_without_wording_is_an_error() -> None:
    """Wording exists in English and German."""
    with pytest.raises(DrillError, match="choose one of en, de"):
        difficulty(running_piece(1), 1, 1, "right", 60, language="xx")


def test_the_goal_tempo_is_asked_for_then_written_then_72() -> None:
    """Without a goal the score's tempo counts, without that 72."""
    of = running_piece(1)
    assert goal_tempo(of, 100) == 100
    assert goal_tempo(of) == 72
    assert goal_tempo(replace(of, tempo=None)) == 72
    assert goal_tempo(replace(of, tempo=96)) == 96
