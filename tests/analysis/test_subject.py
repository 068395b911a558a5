"""The subject is found without being told; a piece that has none says so."""

from __future__ import annotations

import re
from fractions import Fraction
from random import Random

import pytest

from counterpane.analysis.subject import find_subjects, no_subject_reason
from counterpane.model.piece import Piece
from tests.analysis.compositions import compose, compose_without_subject
from tests.analysis.test_sequences import moved
from tests.analysis.written import piece
from tests.analysis.written_music import music

SUBJECT = "C5:1/2 G5 E5:1/4 F5 D5:1/2 A4 B4:1/4 C5 G4:1/2 r:1/2"
ANSWER = "F3:1/2 C4 A3:1/4 Bb3 G3:1/2 D3 E3:1/4 F3 C3:1/2 r:1/2"
PLAIN = "E5:1 F5 G5 D5"
BELOW = "E3:1 C3 G2 B2"


def test_the_opening_idea_that_the_other_hand_takes_up_is_the_subject() -> None:
    piece = music(f"{SUBJECT} {PLAIN} {SUBJECT} {PLAIN}", f"r:4 {ANSWER} {BELOW} {ANSWER}")
    best = find_subjects(piece)[0]
    assert (best.hand, best.start.measure, best.start.beat) == ("right", 1, 1)
    assert len(best.notes) == 9


def test_it_is_found_where_the_other_hand_accompanies_it_from_the_start() -> None:
    piece = music(f"E5:2 G5 {SUBJECT} {PLAIN} {SUBJECT}", f"{ANSWER} {BELOW} {ANSWER} {BELOW}")
    best = find_subjects(piece)[0]
    assert (best.hand, best.start.measure, best.start.beat) == ("left", 1, 1)


def walk(random: Random, measures: int, low: int) -> str:
    """Return free counterpoint in eighths and quarters that keeps within two octaves from C`low` on."""
    step, notes = 7, []
    for _ in range(4 * measures):
        for length in random.choice((("1",), ("1/2", "1/2"), ("1/2", "1/2"))):
            step = min(14, max(0, step + random.choice((-3, -2, -1, -1, 1, 1, 2, 3))))
            notes.append(f"{'CDEFGAB'[step % 7]}{low + step // 7}:{length}")
    return " ".join(notes)


def test_it_is_found_where_the_other_hand_supports_it_first_and_answers_after_a_rest() -> None:
    """A short figure, its last note another one each time, over two bass notes with which the left hand begins."""
    random = Random(2)
    high = " ".join(
        f"r:1/2 {tune} G5:1 {walk(random, 3, 4)}"
        for tune in (
            "G5:1/4 A5 B5 G5 A5 F5 D5:1/2",
            "D5:1/4 E5 F5 D5 E5 C5 F5:1/2",
            "C5:1/4 D5 E5 C5 D5 B4 C5:1/2",
        )
    )
    low = " ".join(
        f"G3:1/2 G2 r:1 r:1/2 {tune} {walk(random, 3, 2)}"
        for tune in ("G3:1/4 A3 B3 G3 A3 F3", "D3:1/4 E3 F3 D3 E3 C3", "C3:1/4 D3 E3 C3 D3 B2")
    )
    best = find_subjects(music(high, low))[0]
    assert (best.hand, best.start.measure, best.start.beat) == ("right", 1, Fraction(3, 2))
    assert len(best.notes) in (6, 7)


@pytest.mark.parametrize("seed", range(3))
def test_it_is_found_where_the_other_hand_goes_along_and_the_piece_is_long(seed: int) -> None:
    """Two measures, answered at once and stated twice more, in a hundred beats of free lines in both hands."""
    random = Random(seed)
    tune = "C5:1 D5:1/2 E5:1/2 F5:1 D5:1 E5:1 C5:1/2 A4:1/2 B4:1 G4:1"
    high = f"{tune} {walk(random, 10, 4)} {moved(tune, -2)} {walk(random, 20, 4)}"
    low = f"{walk(random, 2, 2)} {moved(tune, -11)} {walk(random, 6, 2)} {moved(tune, -14)} {walk(random, 22, 2)}"
    best = find_subjects(music(high, low))[0]
    assert (best.hand, best.start.offset, len(best.notes)) == ("right", 0, 10)


@pytest.mark.parametrize("seed", range(3))
def test_a_head_that_episodes_repeat_is_not_taken_for_the_whole(seed: int) -> None:
    """Ten notes, entering three times; between the entries the first five fall and rise four times by step."""
    random = Random(seed)
    head = "C5:1/2 E5:1/2 D5:1/4 G5:1/4 F5:1/2"
    tune = "C5:1/2 E5:1/2 D5:1/4 G5:1/4 F5:1 E5:1/2 D5:1/2 C5:1/2 D5:1/2 E5:1/2"
    falling = " ".join(moved(head, -copy) for copy in range(4))
    rising = " ".join(moved(head, copy - 17) for copy in range(4))
    high = f"{tune} r:3 {walk(random, 2, 4)} {falling} {walk(random, 2, 4)} {moved(tune, -2)} r:3"
    low = f"r:8 {moved(tune, -11)} r:3 {walk(random, 6, 2)} {rising}"
    best = find_subjects(music(f"{high} {walk(random, 4, 4)}", f"{low} {walk(random, 2, 2)}"))[0]
    assert (best.hand, best.start.offset) == ("right", 0)
    assert len(best.notes) in (10, 11)


def test_a_part_too_small_to_be_a_subject_does_not_hide_the_whole() -> None:
    """Six of the seven notes have the likelier end but explain too little; all seven explain enough."""
    random = Random(84)
    tune = "C5:1/2 D5:1/2 E5:1/2 C5:1/2 F5:1 E5:1/2 D5:1/2"
    high = f"{tune} {walk(random, 7, 4)} {moved(tune, -2)} {walk(random, 6, 4)}"
    low = f"{walk(random, 1, 2)} {moved(tune, -11)} {walk(random, 13, 2)}"
    best = find_subjects(music(high, low))[0]
    assert (best.hand, best.start.offset, len(best.notes)) == ("right", 0, 7)


def test_it_is_found_after_a_pickup_and_with_a_rest_inside() -> None:
    high = "r:3 G4:1/2 C5 r:1/2 E5:1/2 D5:1/4 C5 B4:1/2 F5:1 E5:1/2 r:1/2"
    low = "r:3 G2:1/2 C3 r:1/2 E3:1/2 D3:1/4 C3 B2:1/2 F3:1 E3:1/2 r:1/2"
    piece = music(f"{high} {PLAIN} {high}", f"r:4 {low} {BELOW} {low}")
    best = find_subjects(piece)[0]
    assert (best.hand, best.start.measure, best.start.beat) == ("right", 1, 4)


def test_a_canon_answers_before_the_subject_ends() -> None:
    tune = "C5:1 E5:1/2 D5 G5:1 F5:1/2 E5 A4:1 B4 C5:1/2 D5 E5:1 F5 D5:1/2 B4 C5:1 G4"
    below = (
        tune.replace("5:", "3:").replace("5 ", "3 ").replace("4:", "2:").replace("4 ", "2 ").replace("G4", "G2")
    )
    best = find_subjects(music(f"{tune} r:2", f"r:2 {below}"))[0]
    assert (best.hand, best.start.offset) == ("right", 0)


def test_in_a_canon_that_goes_on_the_subject_ends_where_the_answer_begins() -> None:
    """The second voice follows two measures later each time, so that the rest of the canon tells nothing."""
    random = Random(3)
    tune = (
        "r:1/2 C5:1/2 G4:1/4 A4 B4 E5 D5:1/2 A4 F5:1 E5:1/4 D5 C5 B4 A4:1/2 D5 G4:1 E5 "
        "G5:3/2 F5:1/2 E5:1/4 C5 F5:1/2 D5:1 B4:1/4 C5 A4 B4 C5:1/2 E5 A4 D5 G4:1"
    )
    below = re.sub("(?<=[A-G])[45]", lambda octave: str(int(octave[0]) - 1), tune)
    high = f"{tune} {walk(random, 4, 4)} r:8 {tune} {walk(random, 2, 4)}"
    low = f"r:8 {below} {walk(random, 2, 2)} {below} {walk(random, 4, 2)}"
    best = find_subjects(music(high, low))[0]
    assert (best.hand, best.start.offset) == ("right", Fraction(1, 2))
    assert abs(best.end.offset - 8) <= 1


METERS = ((4, 4), (3, 4), (2, 4), (6, 8), (9, 8), (12, 8), (3, 8), (2, 2), (3, 2))


@pytest.mark.parametrize("meter", METERS, ids=lambda meter: f"{meter[0]}/{meter[1]}")
def test_half_a_measure_is_long_enough_in_every_meter(meter: tuple[int, int]) -> None:
    """Six notes that fill half a measure, taken up by turns half a measure later, now and then over free lines."""
    random = Random(4)
    half = Fraction(2 * meter[0], meter[1])
    lengths = [half / 4, half / 8, half / 8, half / 4, half / 8, half / 8]

    def state(first: int, octave: int) -> str:
        steps = (first + step for step in (0, 4, 3, 1, 5, 2))
        return " ".join(
            f"{'CDEFGAB'[step % 7]}{octave + step // 7}:{length}"
            for step, length in zip(steps, lengths, strict=True)
        )

    def free(octave: int) -> str:
        return " ".join(f"{random.choice('CDEFGAB')}{octave}:{half / 4}" for _ in range(4))

    high = " ".join(f"{state(first, 5)} {free(4)} {free(4)}" for first in (0, 2, 4, 1))
    low = f"r:{half} " + " ".join(f"{state(first, 3)} {free(2)} {free(2)}" for first in (0, 3, 4, 1))
    best = find_subjects(piece(high, low, meter=meter))[0]
    assert (best.hand, best.start.offset) == ("right", 0)
    assert half / 2 < best.end.offset <= half


def test_up_to_three_are_kept_with_reasons_and_falling_confidence() -> None:
    found = find_subjects(compose(3).piece)
    assert len(found) == 3
    assert all(subject.reason.endswith(".") and 0 < subject.confidence <= 1 for subject in found)
    assert found[0].confidence == max(subject.confidence for subject in found)


@pytest.mark.parametrize("seed", range(12))
def test_free_counterpoint_has_no_subject(seed: int) -> None:
    piece = compose_without_subject(seed, voices=2 + seed % 2)
    assert find_subjects(piece) == ()
    assert no_subject_reason(piece).endswith(".")


@pytest.mark.parametrize("seed", range(8))
def test_random_notes_have_no_subject(seed: int) -> None:
    random = Random(seed)
    low, high = (
        " ".join(
            f"{random.choice('CDEFGAB')}{random.choice(octaves)}:{random.choice(('1/4', '1/2', '1'))}"
            for _ in range(150)
        )
        for octaves in ("23", "45")
    )
    assert find_subjects(music(high, low)) == ()


def test_a_piece_with_a_subject_has_no_reason_against_it() -> None:
    assert no_subject_reason(compose(3).piece) == ""


# Each of these once divided by zero, looked past an end, or took two parallel scales for a fugue.
DEGENERATE = {
    "no notes": music(),
    "one note": music("C5:4"),
    "two notes at once": music("C5:4", "C3:4"),
    "three notes": music("C5:1 D5 E5"),
    "one hand silent": music("C5:1/4 D5 E5 F5 G5 F5 E5 D5 C5:2", ""),
    "one voice only": music(" ".join(f"{step}5:1/4" for step in "CDEFGAB" * 8)),
    "all one pitch": music("C5:1/4 " + "C5 " * 99, "C3:1/4 " + "C3 " * 99),
    "one voice that repeats itself": music(f"{SUBJECT} {PLAIN} " * 4),
    "hands in parallel": music("C5:1/2 E5 D5 F5 G5 B4 A4 C5 " * 4, "C3:1/2 E3 D3 F3 G3 B2 A2 C3 " * 4),
}


@pytest.mark.parametrize("name", DEGENERATE)
def test_what_cannot_have_a_subject_says_so(name: str) -> None:
    piece: Piece = DEGENERATE[name]
    assert find_subjects(piece) == ()
    assert no_subject_reason(piece)


def test_twenty_thousand_notes_of_one_pitch_are_answered() -> None:
    piece = music("C5:1/4 " + "C5 " * 9_999, "C3:1/4 " + "C3 " * 9_999)
    assert find_subjects(piece) == ()


def test_places_are_those_of_the_first_and_last_note() -> None:
    piece = compose(5).piece
    for subject in find_subjects(piece):
        first, last = piece.by_id[subject.notes[0]], piece.by_id[subject.notes[-1]]
        assert (subject.start.offset, subject.end.offset) == (first.onset, last.onset)
        assert subject.end.offset - subject.start.offset <= 4 * Fraction(piece.measures[0].length)
