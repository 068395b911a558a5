"""What the documentation of the score formats says, checked on the smallest scores that show it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.model.piece import Piece
from counterpane.score import read_score_bytes
from counterpane.units import pitch_name


def _musicxml(*notes: str, divisions: int = 1, time: str = "<beats>4</beats><beat-type>4</beat-type>") -> Piece:
    score = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Music</part-name></score-part>'
        f'</part-list><part id="P1"><measure number="1"><attributes><divisions>{divisions}</divisions>'
        f"<key><fifths>0</fifths></key><time>{time}</time><clef><sign>G</sign><line>2</line></clef></attributes>"
        f"{''.join(notes)}</measure></part></score-partwise>"
    )
    return read_score_bytes(score.encode(), "score.musicxml").piece


def _note(step: str, duration: int, more: str = "", inside: str = "") -> str:
    pitch = f"<pitch><step>{step}</step><octave>4</octave></pitch>"
    return f"<note>{inside}{pitch}<duration>{duration}</duration>{more}</note>"


def test_the_hello_world_of_musicxml() -> None:
    """W3C MusicXML 4.0 tutorial, "Hello World": one whole middle C in 4/4."""
    piece = _musicxml(_note("C", 4, "<type>whole</type>"))
    assert [(n.onset, n.duration, pitch_name(n.pitch)) for n in piece.notes] == [(0, 4, "C4")]


@pytest.mark.parametrize("divisions", [1, 24, 480, 10080])
def test_durations_are_divisions_of_a_quarter(divisions: int) -> None:
    """W3C MusicXML 4.0, <divisions>: how many divisions per quarter note indicate a note's duration."""
    piece = _musicxml(*(_note("C", divisions) for _ in range(4)), divisions=divisions)
    assert [(i, 1) for i in range(4)] == [(note.onset, note.duration) for note in piece.notes]


def test_a_chord_element_puts_a_note_with_the_one_before() -> None:
    """W3C MusicXML 4.0, <chord>: an additional chord tone with the preceding note; it does not advance time."""
    piece = _musicxml(_note("C", 2), _note("E", 2, inside="<chord/>"), _note("D", 2))
    assert [(note.onset, pitch_name(note.pitch)) for note in piece.notes] == [(0, "C4"), (0, "E4"), (2, "D4")]


def test_backup_goes_back_and_forward_goes_on() -> None:
    """W3C MusicXML 4.0, <backup> and <forward>: coordinate several voices in one part."""
    back, on = (
        "<backup><duration>4</duration></backup>",
        "<forward><duration>2</duration><voice>2</voice></forward>",
    )
    piece = _musicxml(_note("G", 4, "<voice>1</voice>"), back, on, _note("C", 2, "<voice>2</voice>"))
    assert {(0, 4, "G4"), (2, 2, "C4")} == {(n.onset, n.duration, pitch_name(n.pitch)) for n in piece.notes}


def test_scores_may_be_written_time_by_time() -> None:
    """W3C MusicXML 4.0, <score-timewise>: measures hold parts instead of parts measures."""
    pitch = "<pitch><step>C</step><octave>{}</octave></pitch>"
    part = f"<part id='{{}}'>{{}}<note>{pitch}<duration>4</duration></note></part>"
    attributes = "<attributes><divisions>1</divisions></attributes>"
    score = (
        "<score-timewise><part-list><score-part id='A'><part-name/></score-part><score-part id='B'><part-name/>"
        "</score-part></part-list>"
        f"<measure number='1'>{part.format('A', attributes, 5)}{part.format('B', attributes, 3)}</measure>"
        f"<measure number='2'>{part.format('A', '', 5)}{part.format('B', '', 3)}</measure></score-timewise>"
    )
    piece = read_score_bytes(score.encode(), "score.xml").piece
    assert {(0, "C5"), (4, "C5"), (0, "C3"), (4, "C3")} == {(n.onset, pitch_name(n.pitch)) for n in piece.notes}


KERN_PITCHES = [
    ("c", "C4"),
    ("C", "C3"),
    ("cc", "C5"),
    ("CC", "C2"),
    ("f#", "F#4"),
    ("b-", "Bb4"),
    ("ee--", "Ebb5"),
    ("GG##", "G##2"),
]


@pytest.mark.parametrize(("token", "name"), KERN_PITCHES)
def test_pitches_of_kern(token: str, name: str) -> None:
    """Humdrum Guide, chapter 2: middle C is c, repeated letters go up in octaves, capitals down; # and - alter."""
    data = f"**kern\n*M4/4\n=1\n1{token}\n==\n*-\n"
    assert [name] == [pitch_name(note.pitch) for note in read_score_bytes(data.encode(), "score.krn").piece.notes]


KERN_DURATIONS = [
    ("1", 4),
    ("2", 2),
    ("4", 1),
    ("8", "1/2"),
    ("16", "1/4"),
    ("4.", "3/2"),
    ("4..", "7/4"),
    ("0", 8),
    ("6", "2/3"),
    ("12", "1/3"),
]


@pytest.mark.parametrize(("token", "quarters"), KERN_DURATIONS)
def test_durations_of_kern(token: str, quarters: int | str) -> None:
    """Humdrum Guide, chapter 2: reciprocal durations; 0 is a breve; 6 and 12 are triplet quarter and eighth."""
    count = 3 if token in {"6", "12"} else 1
    data = "**kern\n=1\n" + f"{token}c\n" * count + "==\n*-\n"
    piece = read_score_bytes(data.encode(), "score.krn").piece
    assert {Fraction(quarters)} == {note.duration for note in piece.notes}


def test_ties_of_kern() -> None:
    """Humdrum Guide, chapter 2: [ opens, _ continues, ] closes a tie."""
    data = "**kern\n*M2/4\n=1\n2[c\n=2\n2_c\n=3\n2c]\n==\n*-\n"
    assert [(n.onset, n.duration) for n in read_score_bytes(data.encode(), "score.krn").piece.notes] == [(0, 6)]
