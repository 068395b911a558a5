"""Real keyboard music through MIDI and back: the notation is worked out from ticks and key numbers alone.

The pieces are in the public domain and encoded by hand in scores/ (its README names the sources). Their MIDI files
are written by verovio from the notation, so that writer and reader are independent; the file as read from notation
is the truth.
"""

from __future__ import annotations

import base64
from pathlib import Path

import pytest
import verovio

from counterpane.score import ScoreDocument, read_score, read_score_bytes
from tests.score.midi_bytes import midi_file, notes, track

SCORES = Path(__file__).parent / "scores"
TWO_PARTS = ["bwv772", "bwv779"]
ALL = [*TWO_PARTS, "bwv847_exposition", "bwv846_exposition", "bwv1080_1_exposition"]


def _midi_of(document: ScoreDocument) -> bytes:
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.loadData(document.mei)
    return base64.b64decode(toolkit.renderToMIDI())


@pytest.mark.parametrize("name", ALL)
def test_onsets_pitches_and_lengths_come_back_exactly(name: str) -> None:
    """Every sounding note, ties joined, in exact fractions of a quarter."""
    document = read_score(SCORES / f"{name}.krn")
    again = read_score_bytes(_midi_of(document), f"{name}.mid").piece
    assert sorted((n.onset, n.midi, n.duration) for n in again.notes) == sorted(
        (n.onset, n.midi, n.duration) for n in document.piece.notes
    )


@pytest.mark.parametrize("name", ALL)
def test_nearly_all_notes_are_spelled_as_in_print(name: str) -> None:
    """97 in 100 at least; Meredith (2006) reports 99.4 for ps13s1 over 195,972 notes (from memory)."""
    document = read_score(SCORES / f"{name}.krn")
    printed = {(note.onset, note.midi): note.pitch for note in document.piece.notes}
    again = read_score_bytes(_midi_of(document), f"{name}.mid").piece.notes
    right = sum(printed[note.onset, note.midi] == note.pitch for note in again)
    assert right >= 0.97 * len(again)


@pytest.mark.parametrize("name", TWO_PARTS)
def test_two_parts_in_one_track_find_their_hands(name: str) -> None:
    """Both hands in one MIDI track: 99 notes in 100 at least go back to the hand that has them in print."""
    piece = read_score(SCORES / f"{name}.krn").piece
    together = midi_file(track(notes(*((float(n.onset), float(n.end), n.midi) for n in piece.notes))))
    again = read_score_bytes(together, f"{name}.mid").piece
    printed = {(note.onset, note.midi): note.hand for note in piece.notes}
    assert again.hands_guessed
    right = sum(printed.get((note.onset, note.midi)) == note.hand for note in again.notes)
    assert right >= 0.99 * len(piece.notes)
