"""One piece gives the same notes whatever format it comes in, and the notation shows them under the same ids."""

from __future__ import annotations

import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from counterpane.model.piece import Hand, Piece
from counterpane.score import engrave, read_score, read_score_bytes
from counterpane.units import pitch_name
from tests.score import one_piece
from tests.score.conftest import FORMATS


def _music(piece: Piece, hand: Hand) -> list[tuple[Fraction, str, Fraction]]:
    return sorted((note.onset, pitch_name(note.pitch), note.duration) for note in piece.notes if note.hand == hand)


def _expected(hand: one_piece.Line) -> list[tuple[Fraction, str, Fraction]]:
    return sorted((Fraction(onset), name, Fraction(length)) for name, onset, length in hand)


def test_every_format_gives_the_same_notes_in_the_same_hands(piece_file: tuple[str, bytes]) -> None:
    """Onset, spelling and duration, ties joined, for each hand."""
    name, data = piece_file
    piece = read_score_bytes(data, name).piece
    assert _expected(one_piece.RIGHT) == _music(piece, "right")
    assert _expected(one_piece.LEFT) == _music(piece, "left")


def test_every_format_gives_the_same_measures_meter_and_key(piece_file: tuple[str, bytes]) -> None:
    """A quarter's pickup is measure 0 and lacks two quarters; the rest are 1 to 3; D minor has one flat."""
    name, data = piece_file
    piece = read_score_bytes(data, name).piece
    assert [measure.number for measure in piece.measures] == [0, 1, 2, 3]
    assert [measure.length for measure in piece.measures] == [1, 3, 3, 2]
    assert piece.measures[0].padding == 2
    assert piece.meter == "3/4"
    assert (piece.key_signatures[0].fifths, piece.key_signatures[0].mode) == (-1, "minor")


def test_places_count_beats_as_printed(piece_file: tuple[str, bytes]) -> None:
    """The pickup is beat 3; the tied note begins on beat 3 of measure 1; the triplet's second note on 2 1/3."""
    name, data = piece_file
    piece = read_score_bytes(data, name).piece
    first = piece.place(Fraction(0))
    assert (first.measure, first.beat) == (0, 3)
    tied = next(note for note in piece.notes if note.duration == Fraction(3, 2))
    assert (piece.place(tied.onset).measure, piece.place(tied.onset).beat) == (1, 3)
    assert (2, Fraction(7, 3)) == (piece.place(5 + one_piece.T).measure, piece.place(5 + one_piece.T).beat)


def test_the_engraving_carries_the_ids_of_the_piece(piece_file: tuple[str, bytes]) -> None:
    """Every notehead and every measure is a group with its id; note groups keep their class for style sheets."""
    name, data = piece_file
    document = read_score_bytes(data, name)
    svg = "".join(engrave(document).svgs)
    notes = set(re.findall(r'<g id="([^"]+)" class="note"', svg))
    assert {head for note in document.piece.notes for head in note.heads} == notes
    measures = set(re.findall(r'<g id="([^"]+)" class="measure"', svg))
    assert {measure.id for measure in document.piece.measures} == measures


def test_the_same_bytes_give_the_same_document(piece_file: tuple[str, bytes]) -> None:
    """Ids, notes and notation do not change from reading to reading."""
    name, data = piece_file
    assert read_score_bytes(data, name) == read_score_bytes(data, name)


def test_notes_come_in_the_order_that_the_piece_promises(piece_file: tuple[str, bytes]) -> None:
    """By onset, right hand first, then from low to high; the first head of a note is its id."""
    name, data = piece_file
    piece = read_score_bytes(data, name).piece
    keys = [(note.onset, note.hand == "left", note.midi) for note in piece.notes]
    assert sorted(keys) == keys
    assert all(note.heads[0] == note.id for note in piece.notes)


@pytest.mark.parametrize("name", sorted(FORMATS))
def test_the_name_of_the_file_does_not_decide_its_format(name: str) -> None:
    """Content decides: every format is read under a name that says nothing."""
    assert len(one_piece.RIGHT) + len(one_piece.LEFT) == len(
        read_score_bytes(FORMATS[name], "download").piece.notes
    )


def test_hands_are_marked_as_guessed_only_where_the_file_does_not_give_them() -> None:
    """Only the MIDI file with one track leaves open who plays what."""
    guessed = {name for name in FORMATS if read_score_bytes(FORMATS[name], name).piece.hands_guessed}
    assert {"one-track.mid"} == guessed


@pytest.mark.parametrize("name", sorted(FORMATS))
def test_only_abc_and_midi_wait_for_music21(name: str, tmp_path: Path) -> None:
    """It takes longer to import than a piece takes to read; the other formats do without."""
    path = tmp_path / name
    path.write_bytes(FORMATS[name])
    code = "import sys; from pathlib import Path; from counterpane.score import read_score; "
    code += "read_score(Path(sys.argv[1])); print('music21' in sys.modules)"
    answer = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert str(name.endswith((".abc", ".mid"))) == answer.stdout.strip()
    assert answer.stderr == ""


def test_title_and_composer_come_from_the_file_and_else_from_its_name(tmp_path: Path) -> None:
    """Notation formats say both; a score without a title is called by its file."""
    for name in ("piece.musicxml", "piece.mei", "piece.krn", "piece.abc"):
        piece = read_score_bytes(FORMATS[name], name).piece
        assert (piece.title, piece.composer) == ("Short piece", "Nobody")
    path = tmp_path / "my study.krn"
    path.write_text("\n".join(line for line in one_piece.KERN.splitlines() if not line.startswith("!!!")) + "\n")
    assert read_score(path).piece.title == "my study"
