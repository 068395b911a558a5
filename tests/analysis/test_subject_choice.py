"""A subject marked by hand: how it is written, and which notes it names."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.analysis.subject_choice import SubjectChoice, chosen_subject, parse_subject_choice
from counterpane.errors import AnalysisError
from tests.analysis.written_music import music


@pytest.mark.parametrize(
    ("text", "choice"),
    [
        ("right:1:1.25-1:2.75", SubjectChoice("right", 1, Fraction(5, 4), 1, Fraction(11, 4))),
        ("left:12:1-14:3", SubjectChoice("left", 12, Fraction(1), 14, Fraction(3))),
        ("Right:0:4-1:7/3", SubjectChoice("right", 0, Fraction(4), 1, Fraction(7, 3))),
    ],
)
def test_a_choice_reads_as_hand_measure_beat(text: str, choice: SubjectChoice) -> None:
    assert choice == parse_subject_choice(text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "cannot be read"),
        ("1:1-2:1", "cannot be read"),
        ("middle:1:1-2:1", "cannot be read"),
        ("right:1:1", "cannot be read"),
        ("right:1:1/0-2:1", "is not a number"),
        ("right:1:1.2.3-2:1", "is not a number"),
        ("right:1:0.5-2:1", "count from 1"),
    ],
)
def test_a_choice_that_cannot_be_read_is_told_how_to_be_written(text: str, message: str) -> None:
    with pytest.raises(AnalysisError, match=message):
        parse_subject_choice(text)


def test_both_ends_belong_to_the_subject() -> None:
    piece = music("r:1/4 C5 D5 E5 F5 D5 E5 C5 G5:1/2", "C3:4")
    subject = chosen_subject(piece, parse_subject_choice("right:1:1.25-1:2.75"))
    assert [piece.by_id[id_].pitch.step for id_ in subject.notes] == list("CDEFDEC")


def test_the_highest_voice_of_the_hand_has_the_subject_unless_it_is_silent() -> None:
    piece = music("r:4 G5:1 F5 E5 D5", "C4:1 D4 E4 F4 C4:4", "C3:8")
    alone = chosen_subject(piece, parse_subject_choice("right:1:1-1:4"))
    above = chosen_subject(piece, parse_subject_choice("right:2:1-2:4"))
    assert (alone.voice, above.voice) == (2, 1)


def test_a_higher_voice_that_enters_on_the_last_note_does_not_take_the_subject_away() -> None:
    """In a fugue the answer often begins as the subject ends, in the same hand."""
    piece = music("r:4 G5:1 C5 B4 C5", "C4:1 G4 E4 D4 C4:2 E4:2", "C3:8")
    subject = chosen_subject(piece, parse_subject_choice("right:1:1-2:1"))
    assert (subject.voice, len(subject.notes)) == (2, 5)


def test_triplets_are_found_by_their_decimals() -> None:
    piece = music("C5:1/3 D5 E5 F5 G5 A5", "C3:4")
    subject = chosen_subject(piece, parse_subject_choice("right:1:1.333-1:2.667"))
    assert [piece.by_id[id_].pitch.step for id_ in subject.notes] == list("DEFGA")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("right:9:1-9:4", "no measure 9"),
        ("right:1:3-1:1", "ends before it starts"),
        ("right:1:1-1:2", r"too few notes to be recognised \(2\)"),
        ("left:1:1-1:4", r"measure 1, left hand: .*too few notes"),
    ],
)
def test_a_choice_that_names_no_subject_says_why(text: str, message: str) -> None:
    piece = music("C5:1 D5 E5 F5", "C3:4")
    with pytest.raises(AnalysisError, match=message):
        chosen_subject(piece, parse_subject_choice(text))
