"""Sequences: what is one, how often it is heard, and what only looks like one."""

from __future__ import annotations

import pytest

from counterpane.analysis.sequences import find_sequences
from counterpane.model.piece import Piece
from counterpane.units import pitch_from_name, pitch_name
from tests.analysis.planted_sequences import Planted, compose, compose_without
from tests.analysis.written import piece

HELD_OUT = range(5000, 5060)
MODEL = "C5:1/2 D5:1/4 E5:1/4 D5:1/2 B4:1/2"


def moved(text: str, steps: int) -> str:
    """Return written notes a number of scale steps higher, without accidentals; rests stay."""
    names = "CDEFGAB"
    words = []
    for word in text.split():
        name, length = word.split(":")
        if name == "r":
            words.append(word)
            continue
        pitch = pitch_from_name(name)
        octave, index = divmod(pitch.diatonic + steps, 7)
        words.append(f"{names[index]}{octave}:{length}")
    return " ".join(words)


def copies(text: str, step: int, count: int) -> str:
    """Return a model and its copies, each `step` scale steps from the one before."""
    return " ".join(moved(text, step * copy) for copy in range(count))


@pytest.mark.parametrize("count", [3, 4, 5])
@pytest.mark.parametrize("step", [-3, -2, -1, 1, 2])
def test_a_model_and_its_copies_are_counted_together(step: int, count: int) -> None:
    """Three copies of one figure, each a step lower, are a falling sequence of three."""
    found = find_sequences(piece(copies(MODEL, step, count) + " C5:4", "C3:4 C3:4"))
    assert [(count, step, "rising" if step > 0 else "falling")] == [(q.count, q.step, q.direction) for q in found]


def test_both_hands_in_sequence_are_one_sequence() -> None:
    """When the hands move down together, the sequence is one and has both hands."""
    lower = "C3:1/2 E3:1/2 G3:1/2 F3:1/2"
    (found,) = find_sequences(piece(copies(MODEL, -1, 3) + " C5:2", copies(lower, -1, 3) + " C3:2"))
    assert (found.hands, found.count) == (("right", "left"), 3)


def test_hands_that_follow_each_other_a_measure_later_keep_their_own_sequences() -> None:
    """A canon in sequence is two sequences of three, not one of four."""
    model = "C5:1 D5:1/2 E5:1/2 G5:1 E5:1"
    right = copies(model, -2, 3) + " C5:4"
    left = "r:4 " + copies(moved(model, -14), -2, 3)
    assert [(q.hands, q.count) for q in find_sequences(piece(right, left))] == [(("right",), 3), (("left",), 3)]


def test_the_period_is_the_shortest_at_which_everything_repeats() -> None:
    """Four copies of half a measure are not told as two copies of a whole one."""
    (found,) = find_sequences(piece(copies(MODEL, -2, 4) + " C4:4", "C3:4 C3:4 C3:4"))
    assert (found.count, found.step) == (4, -2)


@pytest.mark.parametrize("beats", [4, 5])
def test_legs_may_be_longer_than_a_measure_and_cross_its_barline(beats: int) -> None:
    """In 3/4 a model of four or five beats falls three times by step, each time on another beat of the measure."""
    model = f"C5:1/2 E5:1/4 D5:1/4 F5:1/2 D5:1/2 B4:1/2 G4:1/2 A4:{beats - 3}"
    (found,) = find_sequences(piece(f"{copies(model, -1, 3)} C5:3", "C3:3 C3:3 C3:3 C3:3", meter=(3, 4)))
    assert (found.count, found.step) == (3, -1)


@pytest.mark.parametrize("last", ["C5:1/2 D5:1/4 E5:1/4 D5:1/2 E5:1/2", "C5:1/2 D5:1/4 E5:1/4 A5:1"])
def test_an_altered_or_incomplete_last_copy_counts(last: str) -> None:
    """A copy that begins like the model and then goes its own way is still heard as the third."""
    right = f"{copies(MODEL, 1, 2)} {moved(last, 2)} G4:2 r:8"
    (found,) = find_sequences(piece(right, "C3:4 C3:4 C3:4"))
    assert found.count == 3


def test_the_last_copy_of_a_model_of_three_notes_may_have_another_note_within() -> None:
    """Its first and last note, in the model's rhythm, say that it is one."""
    model = "C5:1 G5:1/2 E5:1/2"
    right = f"{copies(model, -1, 3)} G4:1 B4:1/2 B4:1/2 r:4"
    (found,) = find_sequences(piece(right, "C3:4 C3:4 C3:4"))
    assert (found.count, found.step) == (4, -1)


def test_a_sequence_after_an_upbeat_starts_on_a_beat_of_its_meter() -> None:
    """The upbeat agrees with the end of the model by chance; the model starts on the barline after it."""
    right = f"C5:1/2 {copies(MODEL, -1, 3)} C5:2"
    (found,) = find_sequences(piece(right, "r:1/2 C3:4 C3:4", pickup="1/2"))
    assert (found.count, found.start.measure, found.start.beat) == (3, 1, 1)


def test_the_arrival_note_is_no_copy() -> None:
    """The note that a sequence runs into agrees with the model's first note; it does not make one copy more."""
    right = f"{copies(MODEL, -1, 3)} {moved('C5:1/2', -3)} E5:1/2 A5:1/2 C6:1/2 G5:4"
    (found,) = find_sequences(piece(right, "C3:4 C3:4 C3:4"))
    assert found.count == 3


def test_a_sequence_is_real_when_every_interval_keeps_its_size() -> None:
    """C D E C and D E F# D keep their sizes, C D E C and D E F D do not."""
    real = "C5:1/2 D5:1/2 E5:1/2 C5:1/2 D5:1/2 E5:1/2 F#5:1/2 D5:1/2 E5:1/2 F#5:1/2 G#5:1/2 E5:1/2 B4:2"
    assert [q.real for q in find_sequences(piece(real, "C3:4 C3:4"))] == [True]
    assert [q.real for q in find_sequences(piece(real.replace("#", ""), "C3:4 C3:4"))] == [False]


@pytest.mark.parametrize(
    ("name", "right"),
    [
        ("a scale", "C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1/4 A4:1/4 B4:1/4 C5:1/4 D5:1/4 E5:1/4 F5:1/4 G5:1/4 A5:1"),
        ("an ostinato", " ".join([MODEL] * 6)),
        ("the same figure in three octaves", copies("C3:1/2 E3:1/2 D3:1/2 G3:1/2", 7, 3)),
        ("broken thirds", "C5:1/4 E5:1/4 D5:1/4 F5:1/4 E5:1/4 G5:1/4 F5:1/4 A5:1/4 G5:1/4 B5:1/4 A5:1/4 C6:1/4"),
        ("a broken chord through the octaves", "C3:1/2 E3:1/2 G3:1/2 C4:1/2 E4:1/2 G4:1/2 C5:1/2 E5:1/2 G5:1/2"),
        ("broken triads that climb", copies("C4:1/2 G4:1/2 E4:1/2 G4:1/2", 1, 4)),
        ("repeated notes that climb", copies("C5:1/4 C5:1/4 C5:1/4 C5:1/4", 1, 6)),
        ("a subject and its answer", f"{MODEL} E5:2 {moved(MODEL, 4)} B5:2 C5:4"),
        ("one note", "C5:4"),
        ("nothing", ""),
    ],
)
def test_what_only_looks_like_a_sequence(name: str, right: str) -> None:
    """Scales, repetitions, broken chords and an answer at the fifth are no sequences."""
    assert find_sequences(piece(right, "C3:4 C3:4")) == ()


def outcome(composed: tuple[Piece, tuple[Planted, ...]]) -> tuple[int, int, int]:
    """Return planted sequences, those found with the right count and direction, and readings beside them."""
    found = find_sequences(composed[0])
    right, used = 0, set()
    for planted in composed[1]:
        shared = {
            q.id: min(q.end.offset, planted.end) - max(q.start.offset, planted.start)
            for q in found
            if planted.hands & set(q.hands)
        }
        best = max(shared, key=lambda name: shared[name], default=None)
        if best is not None and shared[best] > 0:
            used.add(best)
            (reading,) = [q for q in found if q.id == best]
            right += (reading.count, reading.step > 0) == (planted.count, planted.step > 0)
    return len(composed[1]), right, len(found) - len(used)


def test_count_and_direction_of_planted_sequences() -> None:
    """In pieces nobody tuned on, at least 95 in 100 planted sequences are found with count and direction."""
    results = [outcome(compose(seed)) for seed in HELD_OUT]
    planted, right, beside = (sum(column) for column in zip(*results, strict=True))
    assert planted > 200
    assert 0.95 * planted <= right
    assert beside <= 0.02 * planted


def test_pieces_without_sequences_stay_without() -> None:
    """In sixty pieces of scales, ostinati, broken chords and free counterpoint fewer than four are heard."""
    false = sum(len(find_sequences(compose_without(seed))) for seed in HELD_OUT)
    assert false < 4


def test_places_and_notes_of_a_sequence() -> None:
    """The copies hold the ids of the notes, the places are those of its first and last note."""
    written = piece("C5:2 " + copies(MODEL, -1, 3), "C3:4 C3:4")
    (found,) = find_sequences(written)
    assert [len(copy) for copy in found.copies] == [5, 5, 5]
    assert pitch_name(written.by_id[found.copies[0][0]].pitch) == "C5"
    assert (found.start.measure, found.start.beat) == (1, 3)
    assert found.end.offset == written.by_id[found.notes[-1]].onset
