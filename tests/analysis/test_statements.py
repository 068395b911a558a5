"""What counts as a statement, and how it is described."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.analysis.statements import find_statements
from counterpane.model.analysis import Statement
from counterpane.model.piece import Piece
from tests.analysis.written_music import music, subject_of

# Nine notes with leaps both ways and two note values, stated in voice 1 at the start.
SUBJECT = "C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2"
REST = "r:1/2"
FREE = "E3:1 F3 G3 D3 A3:2 E3 F3:1 B3 G3 E3 D3:4"


def second(answer: str, *, free: str = FREE) -> tuple[Piece, list[Statement]]:
    """State the subject, then `answer` in the same voice two measures on; return what was found after it."""
    piece = music(f"{SUBJECT} {REST} r:4 {answer}", free)
    statements = find_statements(piece, subject_of(piece, 1, 9))
    assert statements[0].start.offset == 0
    assert (statements[0].likeness, statements[0].extent) == ("exact", "complete")
    return piece, list(statements[1:])


def test_the_written_subject_fills_a_measure() -> None:
    piece = music(f"{SUBJECT} {REST}")
    assert piece.voice_notes(1)[-1].end == Fraction(7, 2)


@pytest.mark.parametrize(
    ("answer", "form", "extent", "likeness"),
    [
        # Transposed by a fourth: the same semitones.
        ("F4:1/2 C5 A4:1/4 Bb4 G4:1/2 D4 E4:1/4 F4 C4:1/2", "upright", "complete", "exact"),
        # A step higher within the key: other qualities.
        ("D5:1/2 A5 F5:1/4 G5 E5:1/2 B4 C5:1/4 D5 A4:1/2", "upright", "complete", "diatonic"),
        # The fifth answered by a fourth: the head keeps the key.
        ("G4:1/2 C5 B4:1/4 C5 A4:1/2 E4 F#4:1/4 G4 D4:1/2", "upright", "complete", "tonal"),
        # Upside down about C, diatonically.
        ("C5:1/2 F4 A4:1/4 G4 B4:1/2 E5 D5:1/4 C5 F5:1/2", "inverted", "complete", "diatonic"),
        # One note in the middle is another.
        ("C5:1/2 G5 E5:1/4 F5 D5:1/2 F4 B4:1/4 C5 G4:1/2", "upright", "complete", "varied"),
        # The last note is of any length.
        ("C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:2", "upright", "complete", "exact"),
        # Without its last three notes, and without its first two.
        ("C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 r:4", "upright", "shortened", "exact"),
        ("r:1 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2", "upright", "shortened", "exact"),
        # Going on with the movement of its last four notes, a third lower each time.
        (
            "C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2 D4 E4:1/4 F4 C4:1/2 G3 A3:1/4 B3",
            "upright",
            "extended",
            "exact",
        ),
    ],
)  # fmt: skip
def test_a_statement_is_described_as_a_teacher_would(answer: str, form: str, extent: str, likeness: str) -> None:
    _, [found] = second(answer)
    assert (form, extent, likeness) == (found.form, found.extent, found.likeness)


@pytest.mark.parametrize(
    "answer",
    [
        pytest.param("C5:1/2 G5 E5:1/4 F5 D5:1/8 E5 D5:1/4 A4:1/2 B4:1/4 C5 G4:1/2", id="a written-out mordent"),
        pytest.param("C5:1/2 G5:1/4 F5 E5 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2", id="a passing note"),
        pytest.param("C5:1/2 G5 E5:1/4 F5 D5 D5 A4:1/2 B4:1/4 C5 G4:1/2", id="a note struck twice"),
        pytest.param("C5:1/2 G5 E5:1/4 F5 D5:1/2 A5 B5:1/4 C6 G5:1/2", id="the rest an octave higher"),
        pytest.param("E5:1/2 G5 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2", id="another first note"),
        pytest.param("C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 F4:1/2", id="another last note"),
        pytest.param("r:1/4 C5:1/4 G5:1/2 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2", id="a first note cut short"),
    ],
)
def test_what_is_added_or_changed_in_passing_does_not_break_a_statement(answer: str) -> None:
    _, [found] = second(answer)
    assert (found.form, found.extent) == ("upright", "complete")


def test_a_first_note_that_enters_early_begins_the_statement() -> None:
    piece = music(f"{SUBJECT} {REST} r:7/2 C5:1 G5:1/2 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2", FREE)
    found = find_statements(piece, subject_of(piece, 1, 9))[1]
    assert (found.start.measure, found.start.beat) == (2, Fraction(9, 2))


def test_a_held_note_of_another_pitch_does_not_begin_the_statement() -> None:
    """Where the first note gives way to a tie, the statement begins with the note after it."""
    piece = music(f"{SUBJECT} {REST} r:7/2 A4:1 G5:1/2 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2", FREE)
    found = find_statements(piece, subject_of(piece, 1, 9))[1]
    assert (found.start.measure, found.start.beat) == (3, Fraction(3, 2))
    assert found.extent == "complete"


KNOCKING = "C5:1/2 C5 C5 C5 C5 D5:1/4 E5 F5:1/2 F5 F5 F5 E5:1/4 D5 E5:1"


@pytest.mark.parametrize(
    ("answer", "first"),
    [
        pytest.param("C5:1/2 C5 C5 C5 C5 D5:1/4 E5 F5:1/2 A4:2", 8, id="as it was"),
        pytest.param("A4:1/2 C5 C5 C5 C5 D5:1/4 E5 F5:1/2 A4:2", 8, id="another first note"),
        pytest.param(
            "r:1/2 C5:1/2 C5 C5 C5 D5:1/4 E5 F5:1/2 A4:2", Fraction(17, 2), id="a rest for the first note"
        ),
    ],
)
def test_the_first_half_of_a_subject_is_known_by_its_rhythm_where_its_notes_repeat(
    answer: str, first: Fraction
) -> None:
    """Notes that repeat tell little by their pitch, but in the place of the subject they are its head."""
    piece = music(f"{KNOCKING} r:3/2 {answer}", FREE)
    found = find_statements(piece, subject_of(piece, 1, 15))[1:]
    assert [(one.extent, one.missing, one.start.offset) for one in found] == [("shortened", "tail", first)]


def test_figuration_around_a_repeated_note_is_no_varied_statement() -> None:
    """Every second note is the same as in the subject, the rest moves elsewhere."""
    turning = "C5:1/4 E5 G5 C6 B5 C6 Bb5 C6 A5 C6 G5 C6 F5 C6 E5 C6 D5 E5 F5 D5 G4:1"
    around = "A5:1/4 A5 G5 C6 B5 C6 E6 C6 E6 C6 E6 C6 D6 C6 E5 C6 D5 E5 F5 D5 G4:1"
    piece = music(f"{turning} r:2 {around}", FREE)
    found = find_statements(piece, subject_of(piece, 1, 21))[1:]
    assert [one for one in found if one.extent == "complete"] == []


def test_missing_and_extra_notes_are_counted() -> None:
    _, [head] = second("C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 r:4")
    _, [tail] = second("r:1 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2")
    _, [longer] = second("C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2 D4 E4:1/4 F4 C4:1/2 G3 A3:1/4 B3")
    assert (head.missing, len(head.notes)) == ("tail", 6)
    assert (tail.missing, len(tail.notes)) == ("head", 7)
    assert longer.extra_notes == 7
    assert len(longer.notes) == 9 + 7


def test_the_notes_that_differ_are_named() -> None:
    piece, [found] = second("C5:1/2 G5 E5:1/4 F5 D5:1/2 F4 B4:1/4 C5 G4:1/2")
    assert [str(piece.by_id[id_].pitch.step) for id_ in found.varied_notes] == ["F"]


def test_entries_of_a_stretto_overlap_and_are_all_kept() -> None:
    low = "C3:1/2 G3 E3:1/4 F3 D3:1/2 A2 B2:1/4 C3 G2:1/2"
    piece = music(f"{SUBJECT} {REST} r:4 {SUBJECT}", f"r:1 {low} r:4 {low}")
    starts = [(found.hand, found.start.offset) for found in find_statements(piece, subject_of(piece, 1, 9))]
    assert starts == [("right", 0), ("left", 1), ("right", 8), ("left", Fraction(17, 2))]


def test_one_note_may_end_a_statement_and_begin_the_next() -> None:
    after = "D5:1/2 B4:1/4 C5 A4:1/2 E4 F4:1/4 G4 D4:1/2"  # begins with the last note of the first
    piece = music(f"{SUBJECT} {after}", FREE)
    found = find_statements(piece, subject_of(piece, 1, 9))
    assert [statement.start.offset for statement in found] == [0, 3]
    assert found[0].notes[-1] == found[1].notes[0]


def test_three_voices_state_the_subject_in_turn() -> None:
    piece = music(
        f"r:8 {SUBJECT}",
        f"{SUBJECT} r:1/2 E4:1 F4 G4 E4",
        "r:4 F3:1/2 C4 A3:1/4 Bb3 G3:1/2 D3 E3:1/4 F3 C3:1/2 C3:4",
    )
    found = find_statements(piece, subject_of(piece, 2, 9))
    assert [(statement.voice, statement.start.measure) for statement in found] == [(2, 1), (3, 2), (1, 3)]


def test_the_same_rhythm_alone_and_the_same_contour_alone_are_no_statement() -> None:
    _, other_pitches = second("C5:1/2 E5 G5:1/4 E5 C5:1/2 B4 G4:1/4 A4 C5:1/2")
    _, other_rhythm = second("C5:1 G5 E5 F5 D5 A4 B4 C5 G4")
    assert other_pitches == []
    assert other_rhythm == []


def test_a_subject_in_double_values_is_found_where_it_really_occurs() -> None:
    slow = "C5:1 G5 E5:1/2 F5 D5:1 A4 B4:1/2 C5 G4:1"
    fast = "C5:1/4 G5 E5:1/8 F5 D5:1/4 A4 B4:1/8 C5 G4:1/4"
    piece = music(f"{SUBJECT} {REST} r:4 {slow} r:1 {fast}", FREE)
    assert [found.form for found in find_statements(piece, subject_of(piece, 1, 9))] == [
        "upright",
        "augmented",
        "diminished",
    ]


def test_a_subject_that_is_no_longer_than_a_note_has_no_statements() -> None:
    piece = music(SUBJECT)
    assert find_statements(piece, subject_of(piece, 1, 1)) == ()


def test_a_tonal_answer_of_repeated_notes_is_whole() -> None:
    """Common practice, no source: three repeated dominants are answered by three tonics."""
    subject = "G4:1/2 G4 G4 C5 B4:1/4 C5 D5:1/2 E5:1"
    answer = "C4:1/2 C4 C4 G4 F#4:1/4 G4 A4:1/2 B4:1"
    written = music(f"{subject} D5:1 B4 C5 E5 D5 G4 A4 C5", f"r:4 {answer} E3:1 C3 D3 G3")
    own, answering = find_statements(written, subject_of(written, 1, 8))
    assert (own.hand, answering.hand, answering.start.measure, answering.start.beat) == ("right", "left", 2, 1)
    assert (answering.extent, answering.likeness) == ("complete", "tonal")


def test_the_head_in_sequence_is_no_whole_statement() -> None:
    """The first four notes falling by thirds meet most later pitches of the subject, but none at its time."""
    head = "C5:1/2 E5 D5 F5"
    subject = f"{head} C5:1 A4:1/2 C5 A4:1 G4:1/2 B4:1/4 E5"
    falling = f"{head} A4 C5 B4 D5 F4 A4 G4 B4"
    written = music(f"{subject} r:2 {falling} r:2 C5:1 {subject}", "C3:4 G3 E3 C3 D3 C3")
    found = find_statements(written, subject_of(written, 1, 11))
    assert [one.start.offset for one in found] == [0, 17]
