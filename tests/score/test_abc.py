"""ABC 2.1 as its standard describes it: fields, lengths, accidentals, tuplets, voices and overlays."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.errors import UnreadableScore
from counterpane.model.piece import Piece
from counterpane.score import read_score_bytes
from counterpane.units import pitch_name


def _tune(music: str, *, meter: str = "4/4", unit: str = "L:1/4\n", key: str = "C", more: str = "") -> Piece:
    return read_score_bytes(f"X:1\nT:Tune\nM:{meter}\n{unit}{more}K:{key}\n{music}\n".encode(), "tune.abc").piece


def _names(piece: Piece) -> list[str]:
    return [pitch_name(note.pitch) for note in sorted(piece.notes, key=lambda n: (n.onset, n.midi))]


@pytest.mark.parametrize(
    ("music", "names"),
    [
        ("C c c' C,", ["C4", "C5", "C6", "C3"]),  # middle C is C (4.1)
        ("^F _B =F ^^G", ["F#4", "Bb4", "F4", "G##4"]),  # accidentals (4.2)
        ("^F F f F, | F4", ["F#4", "F#4", "F#5", "F#3", "F4"]),  # in all octaves, to the bar's end (11.3)
    ],
)
def test_pitches_and_accidentals(music: str, names: list[str]) -> None:
    """Sections 4.1, 4.2 and 11.3 of the standard."""
    assert names == [pitch_name(n.pitch) for n in sorted(_tune(music + " |]").notes, key=lambda n: n.onset)]


@pytest.mark.parametrize(
    ("music", "names"),
    [
        ("^F2 [FA]2", ["F#4", "F#4", "A4"]),
        ("[^FA]2 F2", ["F#4", "A4", "F#4"]),
        ("{^f}A2 f2", ["A4", "F#5"]),
        ("^^F F __B B", ["F##4", "F##4", "Bbb4", "Bbb4"]),
        ("^F2 F2 & F,4", ["F3", "F#4", "F#4"]),
    ],
)
def test_accidentals_go_into_chords_and_come_out_of_them(music: str, names: list[str]) -> None:
    """Section 4.2: to the end of the bar, whatever the note stands in; an overlay begins anew (7.4)."""
    assert names == _names(_tune(music + " |]"))


def test_accidentals_hold_for_one_octave_however_it_is_written() -> None:
    """I:propagate-accidentals octave: "f," is F and "F'" is f (4.1)."""
    assert _names(_tune("^f, F F' f |]", more="I:propagate-accidentals octave\n")) == ["F#4", "F#4", "F5", "F5"]


@pytest.mark.parametrize(("rule", "names"), [("octave", ["F#4", "F5", "F#4"]), ("not", ["F#4", "F5", "F4"])])
def test_accidentals_hold_as_the_file_asks(rule: str, names: list[str]) -> None:
    """I:propagate-accidentals not | octave | pitch (section 11.3)."""
    assert names == _names(_tune("^F f F z |]", more=f"I:propagate-accidentals {rule}\n"))


@pytest.mark.parametrize(
    ("key", "fifths", "mode"),
    [("D", 2, "major"), ("Bb", -2, "major"), ("F#m", 3, "minor"), ("Am", 0, "minor"), ("Ddor", 0, None),
     ("G mix", 0, None), ("B loc", 0, None), ("C exp", 0, None), ("D clef=bass", 2, "major"),
     ("E bass", 4, "major"),
     ("Hp", 2, None), ("A middle=d", 3, "major"), ("E phrygian", 0, None),
     ("Flyd", 0, None), ("none", 0, None), ("C minor", -3, "minor")],
)  # fmt: skip
def test_keys_and_modes(key: str, fifths: int, mode: str | None) -> None:
    """Section 3.1.14: the mode may be a word, three letters or m."""
    signature = _tune("CDEF |]", key=key).key_signatures[0]
    assert (fifths, mode) == (signature.fifths, signature.mode)


@pytest.mark.parametrize(
    ("music", "lengths"),
    [
        ("C2 C C/ C/2", [2, 1, "1/2", "1/2"]),
        ("C3/2 C// C/4 C2", ["3/2", "1/4", "1/4", 2]),
        ("C>D E<F", ["3/2", "1/2", "1/2", "3/2"]),
        ("C>>D E2", ["7/4", "1/4", 2]),
        ("(3CDE F2", ["2/3", "2/3", "2/3", 2]),
        ("(3:2:2C2D E2", ["4/3", "2/3", 2]),
        ("(5C/D/E/F/G/ A2 z", ["1/5", "1/5", "1/5", "1/5", "1/5", 2]),
        ("C5/4 D3/4 E2", ["5/4", "3/4", 2]),
    ],
)
def test_lengths_broken_rhythm_and_tuplets(music: str, lengths: list[int | str]) -> None:
    """Sections 4.3, 4.4 and 4.13; lengths are counted in the unit note length, here a quarter."""
    assert [Fraction(length) for length in lengths] == [note.duration for note in _tune(music + " |]").notes]


@pytest.mark.parametrize(
    ("meter", "length"), [("2/4", Fraction(1, 4)), ("3/4", Fraction(1, 2)), ("6/8", Fraction(1, 2))]
)
def test_without_a_unit_note_length_the_meter_decides(meter: str, length: Fraction) -> None:
    """Below 0.75 a sixteenth, else an eighth (section 3.1.7)."""
    assert length == _tune("C C C C |]", meter=meter, unit="").notes[0].duration


def test_a_key_may_alter_single_steps() -> None:
    """Section 3.1.14: K:D =c has two sharps and every C natural; exp lists all there is."""
    assert _names(_tune("cdf ^c | c |]", key="D =c")) == ["C5", "D5", "F#5", "C#5", "C5"]
    assert _names(_tune("BEAF |]", key="C exp _B _e")) == ["Bb4", "Eb4", "A4", "F4"]


@pytest.mark.parametrize(
    ("music", "lengths"),
    [
        ("(3C{d}DE F2", ["2/3", "2/3", "2/3", 2]),
        ("C>!trill!D E2", ["3/2", "1/2", 2]),
        ("C>{d}[DF] E2", ["3/2", "1/2", "1/2", 2]),
    ],
)
def test_signs_and_graces_take_no_part_in_rhythm(music: str, lengths: list[int | str]) -> None:
    """What stands before a note is no place in a tuplet and no half of a broken rhythm (4.4, 4.13)."""
    notes = sorted(_tune(music + " |]").notes, key=lambda note: (note.onset, note.midi))
    assert [Fraction(length) for length in lengths] == [note.duration for note in notes]


def test_repeats_and_endings_of_any_number() -> None:
    """Sections 4.8 to 4.10: |: :| :: and numbers or ranges behind a bar line, whether a note touches it or not."""
    measures = _tune("|:C4|1,3D4:|2E4::F4:|").measures
    assert len(measures) == 4
    assert [(m.repeat_start, m.repeat_end, m.endings) for m in measures] == [
        (True, False, ()), (False, True, (1, 3)), (False, True, (2,)), (True, True, ()),
    ]  # fmt: skip


def test_chords_ties_graces_and_text() -> None:
    """A chord in one bracket; a tie over the barline; words and slurs are no notes."""
    piece = _tune('"Am"[CEG]2 ({g}c2- | c4) |]')
    assert _names(piece) == ["C4", "E4", "G4", "C5"]
    assert [note.duration for note in sorted(piece.notes, key=lambda n: (n.onset, n.midi))] == [2, 2, 2, 6]
    assert [pitch_name(grace.pitch) for grace in piece.graces] == ["G5"]


def test_voices_follow_lines_and_inline_fields() -> None:
    """V: as a line or in brackets; %%score puts two voices on one staff."""
    more = "%%score {(A B) | C}\nV:A\nV:B\nV:C clef=bass\n"
    piece = _tune("[V:A] c4 | d4 |]\n[V:B] E4 | F4 |]\n[V:C] C,4 | D,4 |]", more=more)
    assert {voice: [pitch_name(note.pitch) for note in piece.voice_notes(voice)] for voice in piece.voices} == {
        1: ["C5", "D5"],
        2: ["E4", "F4"],
        3: ["C3", "D3"],
    }
    assert {note.voice: note.hand for note in piece.notes} == {1: "right", 2: "right", 3: "left"}


def test_a_voice_that_begins_late_keeps_its_voice_and_place() -> None:
    """Rests, whole-bar rests and bars left out do not move the second layer into the first."""
    more = "%%score (A B)\nV:A\nV:B\n"
    piece = _tune("V:A\nZ | c4 |]\nV:B\nE4 | F4 |]", more=more)
    assert {
        voice: [(note.onset, pitch_name(note.pitch)) for note in piece.voice_notes(voice)]
        for voice in piece.voices
    } == {1: [(4, "C5")], 2: [(0, "E4"), (4, "F4")]}


def test_overlays_sound_together() -> None:
    """Section 7.4: & goes back to the bar's beginning."""
    assert {(0, "C4"), (0, "C5")} == {(n.onset, pitch_name(n.pitch)) for n in _tune("c4 & C4 |]").notes}


def test_key_meter_and_unit_may_change_on_the_way() -> None:
    """Fields in a line of their own and in brackets."""
    piece = _tune("FGAB | [K:D] F4 |\nM:3/4\nL:1/8\nF2 G2 A2 | [M:2/4] F4 |]")
    assert _names(piece) == ["F4", "G4", "A4", "B4", "F#4", "F#4", "G4", "A4", "F#4"]
    assert [(m.beats, m.beat_unit) for m in piece.measures] == [(4, 4), (4, 4), (3, 4), (2, 4)]


def test_comments_continuations_lyrics_and_a_second_tune_are_passed_over() -> None:
    """Only the first tune's notes count; w: lines are words."""
    piece = _tune("CD \\\nEF | % a remark\nw: la la la la\nG4 |]\n\nX:2\nT:Another\nK:C\nc4 |]")
    assert _names(piece) == ["C4", "D4", "E4", "F4", "G4"]


def test_tempo_in_quarters_a_minute() -> None:
    """Section 3.1.8: a beat and its number."""
    assert _tune("C4 |]", more="Q:3/8=60\n").tempo == 90


@pytest.mark.parametrize(
    ("music", "words"), [("C/0 |]", "length"), ("C999 |]", "length"), ("C'''''''' |]", "keyboard")]
)
def test_impossible_notes_are_named_with_their_bar(music: str, words: str) -> None:
    """A sentence, with the place."""
    with pytest.raises(UnreadableScore, match=words):
        _tune("CDEF | " + music)
