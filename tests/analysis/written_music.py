"""Small pieces written as text: one string a voice, tokens of pitch and length in quarters, "r" for a rest.

`music("C5 D5 E5:2 r:1/2", …)` gives 4/4 measures; a length holds until another is given; voices go from high
to low, the last one to the left hand.
"""

from __future__ import annotations

from fractions import Fraction

from counterpane.model.analysis import Subject
from counterpane.model.piece import Hand, KeySignature, Measure, Note, Piece
from counterpane.units import pitch_from_name

_LENGTH = Fraction(4)


def music(*voices: str, title: str = "Written for a test") -> Piece:
    """Return the piece that the voices make."""
    notes = [note for number, text in enumerate(voices, 1) for note in _notes(text, number, len(voices))]
    notes.sort(key=lambda note: (note.onset, note.hand != "right", note.midi))
    count = int(max((note.end for note in notes), default=Fraction(0)) // _LENGTH) + 1
    return Piece(
        title=title,
        composer="",
        source_hash=title,
        measures=tuple(Measure(f"m{i}", i, i + 1, i * _LENGTH, _LENGTH, 4, 4) for i in range(count)),
        key_signatures=(KeySignature(Fraction(0), 0),),
        notes=tuple(notes),
    )


def subject_of(piece: Piece, voice: int, size: int, first: int = 0) -> Subject:
    """Return `size` notes of a voice, from its `first` on, as the subject."""
    notes = piece.voice_notes(voice)[first : first + size]
    return Subject(
        hand=notes[0].hand,
        voice=voice,
        start=piece.place(notes[0].onset),
        end=piece.place(notes[-1].onset),
        notes=tuple(note.id for note in notes),
        confidence=1.0,
        reason="written",
    )


def _notes(text: str, voice: int, voices: int) -> list[Note]:
    notes: list[Note] = []
    time, length = Fraction(0), Fraction(1)
    for token in text.split():
        name, _, written = token.partition(":")
        length = Fraction(written) if written else length
        if name != "r":
            pitch = pitch_from_name(name)
            hand: Hand = "left" if voice == voices and voices > 1 else "right"
            notes.append(Note(f"v{voice}n{len(notes)}", hand, voice, time, length, pitch))
        time += length
    return notes
