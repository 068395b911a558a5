"""Troubles: what counts as one, how they gather into spots, and what is tallied for each measure and hand."""

from dataclasses import replace

from counterpane.listening.troubles import find_troubles, spots, tally
from counterpane.model.assessment import Jump, JumpKind
from tests.listening.measures.playing import Key, heard_from, piece_of, play

PIECE = piece_of("C4:1/2 D4:1/2 E4:1/2 F4:1/2 G4:1/2 F4:1/2 E4:1/2 D4:1/2 " * 4, "C3:2 G3:2 " * 4)


def _jump(left: str, target: str, event: int, kind: JumpKind = "back") -> Jump:
    start, end = PIECE.by_id[left], PIECE.by_id[target]
    return Jump(event, left, target, PIECE.place(start.onset), PIECE.place(end.onset), kind)


def test_wrong_missing_and_late_notes_are_troubles() -> None:
    """One of each, in written order, with hand and place."""
    keys = [key for key in play(PIECE, late_ms=lambda note: 900 if note.onset >= 12 else 0) if key.note != "r12"]
    keys = [replace(key, midi=key.midi + 1, status="replacement") if key.note == "l1" else key for key in keys]
    found = find_troubles(heard_from(PIECE, keys))
    assert [(trouble.kind, trouble.onset, trouble.hand) for trouble in found] == [
        ("wrong", 2.0, "left"),
        ("left_out", 6.0, "right"),
        ("hesitation", 12.0, None),
    ]


def test_what_was_put_right_is_a_trouble_of_its_own() -> None:
    """The wrong key is kept with the note that it stood for; the lost time is no second trouble."""
    keys = play(PIECE, late_ms=lambda note: 500 if note.onset >= 5 else 0)
    wrong = Key("r10", 1000 + 5000, 200, 61, status="replacement")
    (trouble,) = find_troubles(heard_from(PIECE, [*keys, wrong]))
    assert (trouble.kind, trouble.note) == ("corrected", "r10")


def test_the_other_hand_is_not_missing_when_it_did_not_play() -> None:
    """A pass with the right hand alone leaves out no note of the left."""
    keys = [key for key in play(PIECE) if str(key.note).startswith("r")]
    assert find_troubles(heard_from(PIECE, keys)) == ()


def test_repeating_a_finished_measure_is_practice_and_no_trouble() -> None:
    """Measure 2 played to its end and once more from its beginning."""
    first = [key for key in play(PIECE) if PIECE.by_id[str(key.note)].onset < 8]
    rest = [
        replace(key, onset_ms=key.onset_ms + 4200, run=1)
        for key in play(PIECE)
        if PIECE.by_id[str(key.note)].onset >= 4
    ]
    jump = _jump("r15", "r8", len(first))
    assert find_troubles(heard_from(PIECE, first + rest, jumps=(jump,))) == ()


def test_breaking_off_in_a_measure_is_a_stop_where_it_happened() -> None:
    """Broken off after beat 2 of measure 2, back to its beginning."""
    first = [key for key in play(PIECE) if PIECE.by_id[str(key.note)].onset <= 5.5]
    rest = [
        replace(key, onset_ms=key.onset_ms + 4200, run=1)
        for key in play(PIECE)
        if PIECE.by_id[str(key.note)].onset >= 4
    ]
    (trouble,) = find_troubles(heard_from(PIECE, first + rest, jumps=(_jump("r11", "r8", len(first)),)))
    assert (trouble.kind, trouble.onset, trouble.run) == ("stop", 5.5, 0)


def test_troubles_within_a_quarter_are_one_spot_counted_by_passes() -> None:
    """Two wrong notes side by side in each of two passes: one spot, twice, and one hand's."""
    once = [
        replace(key, midi=key.midi + 1, status="replacement") if key.note in ("r9", "r10") else key
        for key in play(PIECE)
    ]
    again = [replace(key, onset_ms=key.onset_ms + 20_000, run=1) for key in once]
    (spot,) = spots(find_troubles(heard_from(PIECE, once + again)))
    assert (spot.start, spot.end, spot.times, spot.hand) == (4.5, 5.0, 2, "right")
    assert len(spot.of_kind("wrong")) == 4


def test_every_measure_and_hand_is_tallied() -> None:
    """Visits and troubled visits for each; a measure that was not played has no row."""
    keys = [key for key in play(PIECE) if PIECE.by_id[str(key.note)].onset < 12]
    keys = [replace(key, midi=key.midi + 1, status="replacement") if key.note == "r9" else key for key in keys]
    heard = heard_from(PIECE, keys)
    rows = {(row.measure, row.hand): row for row in tally(heard, find_troubles(heard))}
    assert set(rows) == {(number, hand) for number in (1, 2, 3) for hand in ("right", "left")}
    assert (rows[2, "right"].visits, rows[2, "right"].troubled, rows[2, "right"].wrong) == (1, 1, 1)
    assert (rows[2, "left"].visits, rows[2, "left"].troubled, rows[2, "left"].notes) == (1, 0, 2)
