"""Hands come from the staves; where the staves are voices, or there is one staff, they are given by register."""

from __future__ import annotations

from counterpane.model.piece import Hand, Piece
from counterpane.score import read_score_bytes
from counterpane.units import pitch_name
from tests.score.one_piece import musicxml


def _kern(*spines: str, staves: str = "") -> bytes:
    """Return a measure of kern, one spine for each argument, from low to high; each argument one token."""
    count = len(spines)
    rows = ["\t".join(["**kern"] * count)]
    rows += [staves] if staves else []
    rows += ["\t".join(["*M4/4"] * count), "\t".join(["=1"] * count), "\t".join(spines), "\t".join(["=="] * count)]
    return "\n".join([*rows, "\t".join(["*-"] * count), ""]).encode()


def _hands(piece: Piece) -> dict[str, tuple[Hand, int]]:
    return {pitch_name(note.pitch): (note.hand, note.voice) for note in piece.notes}


def test_kern_spines_run_from_low_to_high() -> None:
    """The first spine is the left hand."""
    piece = read_score_bytes(_kern("1C", "1cc"), "score").piece
    assert _hands(piece) == {"C3": ("left", 2), "C5": ("right", 1)}
    assert not piece.hands_guessed


def test_a_left_hand_in_treble_clef_stays_the_left_hand() -> None:
    """Clefs do not decide."""
    data = _kern("1g", "1cc").decode().replace("*M4/4\t*M4/4", "*clefG2\t*clefG2\n*M4/4\t*M4/4")
    piece = read_score_bytes(data.encode(), "score").piece
    assert _hands(piece) == {"G4": ("left", 2), "C5": ("right", 1)}


def test_four_spines_are_one_keyboard_piece_with_voices_given_to_hands() -> None:
    """Soprano and alto to the right, tenor and bass to the left, as reach allows; marked as a guess."""
    piece = read_score_bytes(_kern("1C", "1G", "1e", "1cc"), "score").piece
    assert _hands(piece) == {"C3": ("left", 4), "G3": ("left", 3), "E4": ("right", 2), "C5": ("right", 1)}
    assert piece.hands_guessed


def test_the_middle_voice_of_three_goes_to_the_hand_that_can_reach_it() -> None:
    """An octave is in reach, an eleventh is not."""
    high = read_score_bytes(_kern("1C", "1g", "1cc"), "score").piece
    low = read_score_bytes(_kern("1C", "1A", "1ccc"), "score").piece
    assert _hands(high)["G4"][0] == "right"
    assert _hands(low)["A3"][0] == "left"


def test_spines_that_name_their_staves_are_not_a_guess() -> None:
    """*staff2 for the two lower spines, *staff1 for the two upper ones."""
    staves = "*staff2\t*staff2\t*staff1\t*staff1"
    piece = read_score_bytes(_kern("1C", "1g", "1a", "1cc", staves=staves), "score").piece
    assert {k: v[0] for k, v in _hands(piece).items()} == {
        "C3": "left",
        "G4": "left",
        "A4": "right",
        "C5": "right",
    }
    assert not piece.hands_guessed


def test_spines_written_from_high_to_low_are_recognised_and_marked() -> None:
    """The lower staff lies an octave higher: the hands are turned round, and the teacher is asked."""
    piece = read_score_bytes(_kern("1cc", "1C"), "score").piece
    assert {k: v[0] for k, v in _hands(piece).items()} == {"C3": "left", "C5": "right"}
    assert piece.hands_guessed


def test_two_staves_of_one_part_are_never_turned_round() -> None:
    """In a keyboard part the upper staff is the right hand's even where the hands cross for long."""
    pitch = "<pitch><step>C</step><octave>{}</octave></pitch><duration>4</duration>"
    note = f"<note>{pitch}<voice>{{}}</voice><type>whole</type><staff>{{}}</staff></note>"
    score = musicxml(
        '<measure number="1"><attributes><divisions>1</divisions>'
        f"<staves>2</staves></attributes>{note.format(3, 1, 1)}<backup><duration>4</duration></backup>"
        f"{note.format(5, 5, 2)}</measure>"
    )
    piece = read_score_bytes(score.encode(), "score").piece
    assert {k: v[0] for k, v in _hands(piece).items()} == {"C3": "right", "C5": "left"}
    assert not piece.hands_guessed


def test_a_melody_on_one_staff_is_one_hands() -> None:
    """High: the right; low: the left; either way a guess."""
    for octave, hand in (("c", "right"), ("C,", "left")):
        piece = read_score_bytes(
            f"X:1\nM:4/4\nL:1/4\nK:C\n{octave} {octave} {octave} {octave} |]\n".encode(), "tune"
        ).piece
        assert {hand} == {note.hand for note in piece.notes}
        assert piece.hands_guessed


def test_two_layers_on_one_staff_are_two_hands() -> None:
    """Voices are kept together: one for each hand."""
    piece = read_score_bytes(b"X:1\nM:4/4\nL:1/4\nK:C\ncdef & C,D,E,F, |]\n", "tune").piece
    assert {(1, "right"), (2, "left")} == {(note.voice, note.hand) for note in piece.notes}


def test_wide_chords_on_one_staff_are_divided_note_by_note() -> None:
    """What one hand cannot reach is shared."""
    piece = read_score_bytes(b"X:1\nM:4/4\nL:1/1\nK:C\n[C,,G,,e'g'] |]\n", "tune").piece
    assert [note.hand for note in sorted(piece.notes, key=lambda n: -n.midi)] == ["right", "right", "left", "left"]


def test_voices_keep_their_numbers_through_the_piece() -> None:
    """The alto is 2 also where it lies above the soprano."""
    upper = "**kern\t**kern\n*M4/4\t*M4/4\n=1\t=1\n1C\t1cc\n=2\t=2\n1D\t1dd\n=3\t=3\n1ee\t1c\n==\t==\n*-\t*-\n"
    piece = read_score_bytes(upper.encode(), "score").piece
    assert {1: {"C5", "D5", "C4"}, 2: {"C3", "D3", "E5"}} == {
        voice: {pitch_name(note.pitch) for note in piece.voice_notes(voice)} for voice in piece.voices
    }
