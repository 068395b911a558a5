"""Keys out of turn: swapped neighbours are found for timing, and other spare keys are left alone."""

from counterpane.listening.measures.out_of_turn import out_of_turn
from counterpane.listening.measures.sheet import Sheet
from counterpane.model.performance import PlayedNote
from tests.listening.measures.playing import piece_of

PIECE = piece_of("C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1/4 F4:1/4")
SHEET = Sheet(PIECE, PIECE.notes)
STRUCK = {"r0": 0.0, "r1": 180.0, "r3": 540.0, "r4": 720.0, "r5": 900.0}


def _key(event: int, onset_ms: float, midi: int) -> PlayedNote:
    return PlayedNote(event, onset_ms, onset_ms + 100, midi, 64)


def test_the_right_key_just_before_its_neighbour_is_its_note() -> None:
    """E was due at 360 ms and came at 170, before D: it is E."""
    ((note, key),) = out_of_turn(SHEET, STRUCK, [_key(7, 170.0, 64)])
    assert (note.id, key.event) == ("r2", 7)


def test_another_key_or_another_time_is_none() -> None:
    """The key of no missing note, and the right key half a second off, stay added."""
    assert list(out_of_turn(SHEET, STRUCK, [_key(7, 350.0, 65), _key(8, 900.0, 64)])) == []


def test_of_two_fitting_keys_the_nearer_one_counts_and_only_once() -> None:
    """Two E's: the one nearer to 360 ms is the note."""
    ((_, key),) = out_of_turn(SHEET, STRUCK, [_key(7, 200.0, 64), _key(8, 420.0, 64)])
    assert key.event == 8
