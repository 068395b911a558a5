"""What the aligner says about short scenes that a teacher can check by eye."""

from __future__ import annotations

from dataclasses import replace

import pytest

from counterpane.errors import PerformanceError
from counterpane.listening.alignment import align
from counterpane.model.assessment import Alignment
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.practice import Passage
from tests.listening.scenes import heard, left_out, played, said, whole, written

# Both hands of the first two measures, as they sound together.
FIRST = "C5+C3 D5 E5+E3 F5 G5+G3 A5 B5+E3 C6"
SECOND = "B5+G3 A5 G5+F3 F5 E5+E3 D5 C5+G3 B4"
THIRD = "C5+C3 E5 G5+C3 E5 F5+F3 A5 F5+G3 D5"

SCENES = {
    "one wrong key in the right hand stands for its note": (
        "C5+C3 D5 E5+E3 F#5 G5+G3 A5",
        "=l0 =r0 =r1 =l2 =r2 !r3 =l4 =r4 =r5",
    ),
    "a key an octave away stands for its note": (
        "C5+C3 D5 E5+E3 F6 G5+G3 A5",
        "=l0 =r0 =r1 =l2 =r2 !r3 =l4 =r4 =r5",
    ),
    "a wrong key put right at once stood for the note that followed": (
        "C5+C3 D5 F5+E3 E5 F5 G5+G3 A5",
        "=l0 =r0 =r1 =l2 !r2 =r2 =r3 =l4 =r4 =r5",
    ),
    "the next note of the scale in the time of one that was not played stands for that one": (
        "C5+C3 D5 E5+E3 G5 B5+G3 A5 B5+E3 C6",
        "=l0 =r0 =r1 =l2 =r2 !r3 =l4 !r4 =r5 =l6 =r6 =r7",
    ),
    "the last note once more in the time of one that was not played stands for that one": (
        "C5+C3 D5 E3 E5 G5+G3 A5 B5+E3 C6",
        "=l0 =r0 =r1 =l2 !r3 =l4 =r4 =r5 =l6 =r6 =r7",
    ),
    "of two wrong keys struck together each stands for the note of its own hand": (
        "C5+C3 D5 F5+D3 F5 G5+G3 A5",
        "=l0 =r0 =r1 !l2 !r2 =r3 =l4 =r4 =r5",
    ),
    "a key caught together with the right one is added": (
        "C5+C3 D5 D#5+E5+E3 F5 G5+G3 A5",
        "=l0 =r0 =r1 =l2 + =r2 =r3 =l4 =r4 =r5",
    ),
    "two tries put right by the same note stood for it, and the other hand's wrong key for its own": (
        "C5+C3 D5 F5+D3 D#5 E5 F5 G5+G3 A5",
        "=l0 =r0 =r1 !l2 !r2 !r2 =r2 =r3 =l4 =r4 =r5",
    ),
    "a key between the notes is added": (
        "C5+C3 D5 E5+E3 F5 G5+G3 D2 A5 B5+E3 C6",
        "=l0 =r0 =r1 =l2 =r2 =r3 =l4 =r4 + =r5 =l6 =r6 =r7",
    ),
    "the left hand alone": ("C3 E3 G3 E3 G3 F3 E3 G3", "=l0 =l2 =l4 =l6 =l8 =l10 =l12 =l14"),
    "hands that do not strike together keep the order of each hand": (
        "C3 C5 D5 E3 E5 F5 G3 G5 A5 E3 B5 C6",
        "=l0 =r0 =r1 =l2 =r2 =r3 =l4 =r4 =r5 =l6 =r6 =r7",
    ),
}


@pytest.mark.parametrize(("text", "expected"), SCENES.values(), ids=SCENES)
def test_each_key_is_what_a_teacher_would_call_it(text: str, expected: str) -> None:
    """Wrong, corrected and added keys, and one hand alone."""
    assert expected == said(heard(written(), text))


def test_notes_left_out_are_told_from_notes_not_attempted() -> None:
    """Inside what was played a missing note was left out; after an early stop it was not reached."""
    alignment = heard(written(), "C5+C3 D5 E3 F5 G5+G3")
    assert left_out(alignment) == "r2"
    statuses = {note.note: note.status for note in alignment.notes}
    assert statuses["r4"] == "played"
    assert statuses["r5"] == statuses["l6"] == "not_reached"


def test_one_hand_alone_leaves_the_other_not_reached() -> None:
    """Both hands may be asked; when the right plays alone the left's notes are not faults."""
    alignment = heard(written(), "C5 D5 E5 F5 G5 A5 B5 C6")
    assert alignment.hands == "right"
    assert {note.status for note in alignment.notes if note.note.startswith("l")} == {"not_reached"}


def test_a_restart_after_a_pause_abandons_the_first_try() -> None:
    """The first try breaks off inside a measure and begins again from where it began."""
    alignment = heard(written(), f"C5+C3 D5 E5+E3 ~{FIRST}")
    assert said(alignment).startswith("?l0 ?r0 ?r1 ?l2 ?r2 =l0 =r0 =r1")
    assert [(jump.event, jump.kind, jump.to_note) for jump in alignment.jumps] == [(5, "restart", "r0")]
    assert {event.run for event in alignment.events} == {0, 1}


def test_a_wrong_key_that_came_in_time_is_no_first_key_of_the_new_start() -> None:
    """The playing breaks off at it and begins again in flow: it stands for the note that was due."""
    performance = played(f"{FIRST} B5+G3 A#5 {SECOND}")
    sooner = [
        replace(note, onset_ms=note.onset_ms - 10.0) if place > 14 else note
        for place, note in enumerate(performance.notes)
    ]
    alignment = align(written(), Passage(1, 4, "both", 120), replace(performance, notes=tuple(sooner)))
    assert said(alignment).split()[12:17] == ["?l8", "?r8", "!r9", "=l8", "=r8"]


def test_a_measure_begun_again_inside_it_was_an_abandoned_start() -> None:
    """Broken off in the second measure and begun again at its start: a restart, and the first measure stands."""
    alignment = heard(written(), f"{FIRST} B5+G3 A5 G5+F3 F5 ~{SECOND} {THIRD}")
    assert [(jump.kind, jump.to_note) for jump in alignment.jumps] == [("restart", "r8")]
    abandoned = [event.note for event in alignment.events if event.status == "abandoned"]
    assert abandoned == ["l8", "r8", "r9", "l10", "r10", "r11"]


def test_a_measure_played_again_counts_twice_as_written() -> None:
    """Going back over a barline abandons nothing: each of the two passes played its notes."""
    alignment = heard(written(), f"{FIRST} {SECOND} ~{SECOND} {THIRD}")
    assert [jump.kind for jump in alignment.jumps] == ["back"]
    assert [event.event for event in alignment.events if event.note == "r8"] == [13, 25]
    assert {event.status for event in alignment.events} == {"as_written"}


def test_the_whole_passage_twice_is_two_passes() -> None:
    """A passage played to its end and again from the start is a restart, and nothing was abandoned."""
    alignment = heard(written(RIGHT_TWO, LEFT_TWO), f"{FIRST} {SECOND} ~{FIRST} {SECOND}")
    assert [jump.kind for jump in alignment.jumps] == ["restart"]
    assert {event.status for event in alignment.events} == {"as_written"}


RIGHT_TWO = "C5 D5 E5 F5 G5 A5 B5 C6 | B5 A5 G5 F5 E5 D5 C5 B4"
LEFT_TWO = "C3 . E3 . G3 . E3 . | G3 . F3 . E3 . G3 ."


def test_skipping_on_leaves_the_measure_not_reached() -> None:
    """From the end of the first measure to the third: a skip, not a measure of missing notes."""
    alignment = heard(written(), f"{FIRST} {THIRD}")
    assert [(jump.kind, jump.to_note) for jump in alignment.jumps] == [("skip", "r16")]
    assert {note.status for note in alignment.notes if note.note in ("r8", "l10", "r15")} == {"not_reached"}


def test_starting_late_is_no_jump() -> None:
    """Whoever begins in the second measure did not attempt the first."""
    alignment = heard(written(), f"{SECOND} {THIRD}")
    assert alignment.jumps == ()
    assert alignment.notes[0].status == "not_reached"


@pytest.mark.parametrize("step_ms", [60, 250, 1000, 2000])
def test_tempo_does_not_matter(step_ms: float) -> None:
    """From a quarter of the tempo to four times it, and with no sense of tempo at all, the notes are found."""
    piece = written()
    passage = Passage(1, 4, "both", 120)
    alignment = align(piece, passage, played(f"{FIRST} {SECOND} {THIRD} C5+C3", step_ms))
    assert {event.status for event in alignment.events} == {"as_written"}
    assert {note.status for note in alignment.notes} == {"played"}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("C5+C3 E5+E3", "=l0 =r0 =l4 =r4"),  # plain: right as well
        ("D5 C5+C3 D5 C5 D5 C5 E5+E3", "=r0 =l0 =r0 =r0 =r0 =r0 =r0 =l4 =r4"),  # from the upper note
        ("C5+C3 D5 C5 D5 C5 E5+E3", "=l0 =r0 =r0 =r0 =r0 =r0 =l4 =r4"),
        ("C5+C3 B4 C5 E5+E3", "=l0 =r0 =r0 =r0 =l4 =r4"),  # a mordent instead
    ],
)
def test_an_ornament_may_be_played_or_not(text: str, expected: str) -> None:
    """No key of an ornament is added, and its note is not missing when it is played plain."""
    piece = written("C5 . . . E5 . . .", "C3 . . . E3 . . .", {"r0": "trill"})
    alignment = align(piece, Passage(1, 1, "both", 60), played(text, 90))
    assert expected == said(alignment)
    assert {note.status for note in alignment.notes} == {"played"}


def test_what_one_hand_puts_right_explains_no_wrong_key_of_the_other() -> None:
    """A3 and G sharp 4 together in place of B3 and E4; the left hand mends its own, the right goes on."""
    piece = written("C4 D4 E4 F4 G4 A4", "C3 . B3 . C3 .")
    alignment = heard(piece, "C4+C3 D4 A3+G#4 B3 F4 G4+C3 A4", step_ms=500.0)
    assert said(alignment) == "=l0 =r0 =r1 !l2 !r2 =l2 =r3 =l4 =r4 =r5"


def test_slow_keys_near_an_ornamented_note_are_no_ornament() -> None:
    """Going back to the first measure, note by note, is not a turn on the long note of the second."""
    piece = written("C5 D5 E5 C5 D5 E5 C5 E5 | D5 . . . A5 . . .", "", {"r8": "turn"})
    alignment = heard(piece, "C5 D5 E5 C5 D5 E5 C5 E5 D5 C5 D5 E5 C5 E5 D5 A5", "right", 600.0)
    assert [(jump.event, jump.to_note) for jump in alignment.jumps] == [(9, "r3")]


def test_a_measure_may_be_begun_again_with_an_ornament_from_its_upper_note() -> None:
    """A trill on the first note of the second measure: its first key is no wrong one."""
    piece = written("C5 D5 E5 F5 E5 D5 C5 D5 | E5 . D5 E5 F5 E5 D5 C5", "", {"r8": "trill"})
    alignment = heard(piece, "C5 D5 E5 F5 E5 D5 C5 D5 E5 D5 E5 ~F5 E5 F5 E5 D5 E5 F5 E5 D5 C5", "right", 200.0)
    assert [(jump.event, jump.to_note) for jump in alignment.jumps] == [(11, "r8")]
    assert {event.status for event in alignment.events} <= {"as_written", "abandoned"}


def test_quick_notes_may_come_before_a_chord_is_rolled_to_its_end() -> None:
    """Three notes after the chord come down before its highest one."""
    piece = written("C5+E5+G5 B5 C6 B5 C6+E6+G6 B5 C6 B5", "C3 . . . C3 . . .")
    performance = played("C3 C5 E5 B5 C6 B5 G5 C3+C6+E6+G6 B5 C6 B5", 40.0)
    assert {event.status for event in align(piece, whole(piece), performance).events} == {"as_written"}


def test_quick_neighbours_struck_out_of_turn_are_both_played() -> None:
    """Uneven playing of quick notes now and then swaps two of them: neither was left out, and none was added."""
    performance = played("C5+C3 D5 F5 E5 E3 G5+G3 A5", 90)
    alignment = align(written(), whole(written()), performance)
    assert said(alignment) == "=l0 =r0 =r1 =r3 =r2 =l2 =l4 =r4 =r5"
    assert left_out(alignment) == ""


def test_slow_neighbours_in_the_wrong_order_are_wrong_keys() -> None:
    """With time enough to hear them, F before E is not both notes as written."""
    words = said(heard(written(), "C5+C3 D5 F5+E3 E5 G5+G3 A5 B5+E3 C6")).split()
    assert not {"=r2", "=r3"} <= set(words)


@pytest.mark.parametrize("first", ["D5", "C#5", "C6"])
def test_the_first_key_may_be_wrong(first: str) -> None:
    """A passage begun with a wrong key begins at its first note all the same."""
    assert said(heard(written(), f"{first} D5 E5 F5 G5", "right")) == "!r0 =r1 =r2 =r3 =r4"


def test_chords_have_no_order() -> None:
    """The notes of a chord may be struck from any side and rolled."""
    piece = written("C5+E5+G5 . . . F5+A5+C6 . . .", "C3 . . . F3 . . .")
    assert said(align(piece, Passage(1, 1, "both", 60), played("G5 C3 E5 C5 C6 F3 A5 F5", 40))) == (
        "=r0b =l0 =r0a =r0 =r4b =l4 =r4a =r4"
    )


def test_keys_tried_before_a_chord_stand_for_its_nearest_note() -> None:
    """Whoever finds C#6 twice was looking for C6, though F5 and A5 come down with it."""
    piece = written("C5+E5+G5 D5+F5+A5 E5+G5+B5 F5+A5+C6 G5+B5+D6 C5+E5+G5", "C3 . . . . .")
    tried = heard(piece, "C3+C5+E5+G5 D5+F5+A5 E5+G5+B5 C#6 C#6 F5+A5+C6 G5+B5+D6 C5+E5+G5")
    assert said(tried).split()[10:13] == ["!r3b", "!r3b", "=r3"]


def test_a_note_taken_once_more_and_missed_is_what_the_key_stood_for() -> None:
    """C5, a pause, B4 for as long as an eighth, and on to E6: it was the C. Let go at once, it is added."""
    piece = written("C5 E6 C5 E6 C5 E6 C5 E6 | C5 . . . . . . .", "C3 . . . . . . . | C3 . . . . . . .")
    performance = played("C5+C3 E6 C5 E6 C5 ~B4 E6 C5 E6 C5+C3")
    alignment = align(piece, whole(piece), performance)
    assert said(alignment).split()[5:8] == ["=r4", "!r4", "=r5"]
    touched = [
        replace(note, release_ms=note.onset_ms + 40.0) if note.event == 6 else note for note in performance.notes
    ]
    brief = align(piece, whole(piece), Performance(tuple(touched)))
    assert said(brief).split()[5:8] == ["=r4", "+", "=r5"]


def test_a_wrong_key_after_a_pause_begins_what_follows() -> None:
    """Back to the second measure with a wrong key first: it stands for that measure's first note."""
    alignment = heard(written(), f"{FIRST} B5+G3 A5 ~A#5 {SECOND} {THIRD}")
    assert said(alignment).split()[15:18] == ["!r8", "=l8", "=r8"]
    assert [(jump.event, jump.to_note) for jump in alignment.jumps] == [(15, "r8")]


def test_who_begins_with_a_wrong_key_began_there() -> None:
    """Back to the second measure with a wrong key, not put right: the measure was begun at its first note."""
    alignment = heard(written(), f"{FIRST} {SECOND} {THIRD} ~D6 A5 G5+F3 F5 E5+E3 D5")
    assert said(alignment).split()[36:39] == ["!r8", "=r9", "=l10"]
    assert [(jump.event, jump.to_note) for jump in alignment.jumps] == [(36, "r8")]


def test_a_note_missing_from_one_of_several_equal_chords_is_missing_there() -> None:
    """Only time tells equal chords apart: what is struck together belongs together."""
    piece = written("C5+E5+G5 C5+E5+G5 C5+E5+G5 C5+E5+G5", "C3 . . .")
    assert left_out(heard(piece, "C3+C5+E5+G5 C5+G5 C5+E5 C5+E5+G5")) == "r1a r2b"


def test_a_unison_of_both_hands_is_one_stroke() -> None:
    """One key cannot be struck twice at once: both written notes are played by it."""
    piece = written("C4 D4 E4 F4", "C4 . C3 .")
    alignment = heard(piece, "C4 D4 E4+C3 F4")
    assert {note.status for note in alignment.notes} == {"played"}
    alone = heard(piece, "C4 C3", "left")
    assert said(alone) == "=l0 =l2"


def test_a_transposed_piano_is_found_out() -> None:
    """All keys two semitones too high: said once, and not counted as wrong keys."""
    text = "D5+D3 E5 F#5+F#3 G5 A5+A3 B5 C#6+F#3 D6 C#6+A3 B5 A5+G3 G5 F#5+F#3 E5 D5+A3 C#5"
    alignment = heard(written(), text)
    assert alignment.transposed_by == 2
    assert {event.status for event in alignment.events} == {"as_written"}
    assert "2 semitones above" in alignment.warnings[0]


@pytest.mark.parametrize("behind_ms", [-200.0, -120.0, 120.0, 200.0])
def test_a_hand_behind_by_more_than_the_shortest_notes_is_followed(behind_ms: float) -> None:
    """Eighths of both hands 150 ms apart, the left late or early by up to more than one: nothing is wrong."""
    piece = written(RIGHT_TWO, "C3 E3 G3 E3 F3 A3 G3 E3 | G3 D3 F3 D3 E3 C3 G3 G2")
    times = {note.id: 1000 + 300 * float(note.onset) + behind_ms * (note.hand == "left") for note in piece.notes}
    struck = sorted((times[note.id], note.midi, note.id) for note in piece.notes)
    performance = Performance(tuple(PlayedNote(n, time, None, key, 64) for n, (time, key, _) in enumerate(struck)))
    alignment = align(piece, whole(piece), performance)
    assert [event.note for event in alignment.events] == [note for *_, note in struck]
    assert {event.status for event in alignment.events} == {"as_written"}


@pytest.mark.parametrize(("text", "shift"), [("D5 E5 F#5 G5 A5", 2), ("C6 D6 E6 F6 G6 A6", 12), ("D5 E5 F#5", 0)])
def test_few_keys_are_transposed_only_when_all_of_them_agree(text: str, shift: int) -> None:
    """Five notes of a drill, all a tone too high, tell; three do not."""
    assert heard(written(), text, "right").transposed_by == shift


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("octaves", [-1, 1])
def test_a_hand_in_another_octave_is_that_and_not_another_piece(hand: str, octaves: int) -> None:
    """One hand misread where it lies: every one of its keys stands for its note, the other's are right."""
    piece = written(RIGHT_TWO, "C3 E3 G3 E3 F3 A3 G3 E3 | G3 D3 F3 D3 E3 C3 F3 C3")
    keys = [note.midi + 12 * octaves * (note.hand == hand) for note in piece.notes]
    times = [500 * float(note.onset) for note in piece.notes]
    struck = sorted(zip(times, keys, strict=True))
    performance = Performance(tuple(PlayedNote(n, time, None, key, 64) for n, (time, key) in enumerate(struck)))
    alignment = align(piece, whole(piece), performance)
    assert (alignment.warnings, alignment.transposed_by) == ((), 0)
    replaced = {event.note for event in alignment.events if event.status == "replacement"}
    assert replaced == {note.id for note in piece.notes if note.hand == hand}


def test_trying_keys_out_before_beginning_is_no_playing() -> None:
    """Keys that are hardly in the passage, then a pause, then the passage: all of them added, and no jump."""
    alignment = heard(written(), f"F#4 G3 A#2 C#6 G#3 E5 D#6 F#2 A#5 C#4 ~{FIRST} {SECOND}")
    assert said(alignment).startswith("+ + + + + + + + + + =l0 =r0 =r1")
    assert alignment.jumps == ()


@pytest.mark.parametrize(
    ("left", "text"),
    [
        (LEFT_TWO, f"{FIRST} {SECOND}"),
        ("C3 . . . G3 . . . | G3 . . . E3 . . .", "C5+C3 D5 E5 F5 G5+G3 A5 B5 C6 B5+G3 A5 G5 F5 E5+E3 D5 C5 B4"),
    ],
    ids=["much to play", "little to play"],
)
def test_the_other_hand_may_join_a_drill_for_one(left: str, text: str) -> None:
    """A drill for the right hand: keys that the left plays as written are not added notes."""
    alignment = heard(written(RIGHT_TWO, left), text, "right")
    assert "added" not in {event.status for event in alignment.events}
    assert all(note.note.startswith("r") for note in alignment.notes)
    assert alignment.hands == "both"


def test_going_on_past_the_passage_adds_nothing() -> None:
    """A drill of one measure, and the student plays into the next: its notes are named, but not asked."""
    piece = written()
    alignment = align(piece, Passage(1, 1, "both", 120), played(f"{FIRST} B5+G3 A5"))
    assert said(alignment).endswith("=l8 =r8 =r9")
    assert {note.note for note in alignment.notes} == {f"r{n}" for n in range(8)} | {"l0", "l2", "l4", "l6"}


def test_something_else_is_not_forced_onto_the_passage() -> None:
    """Another piece: nearly everything is added, no jumps are invented, and one sentence says so."""
    other = "F#4 F#4 A#3 C#4 D#6 F#4 G#4 A#5 C#4 F#3 D#4 G#5 A#3 F#6 C#5 D#4"
    alignment = heard(written(), other)
    assert _share(alignment, "added") > 0.8
    assert alignment.jumps == ()
    assert "something else" in alignment.warnings[0]


def _share(alignment: Alignment, status: str) -> float:
    return sum(event.status == status for event in alignment.events) / len(alignment.events)


def test_a_passage_without_notes_is_refused_in_one_sentence() -> None:
    """Nothing to listen for is an error that names the measure."""
    with pytest.raises(PerformanceError, match="measure 9: no notes are written here"):
        align(written(), Passage(9, 9, "both", 120), played("C5"))
