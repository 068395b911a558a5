"""Pieces written as text: `piece("C5:1 D5:1/2 r:1/2", "C3:4")`. A note is name:length in quarters, r is a rest.

Notes struck together are joined by "+", a fermata is "!" after the length, several voices of a hand stand in a
list.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from counterpane.model.piece import Hand, KeySignature, Measure, Note, Piece
from counterpane.units import pitch_from_name

Voices = str | Sequence[str]


def piece(
    right: Voices, left: Voices = "", *, meter: tuple[int, int] = (4, 4), fifths: int | None = 0, pickup: str = "0"
) -> Piece:
    """Return the piece that the text spells; `pickup` is the length of an upbeat in quarters."""
    voices: list[tuple[Hand, str]] = [("right", text) for text in _listed(right)]
    voices += [("left", text) for text in _listed(left)]
    notes = [note for number, (hand, text) in enumerate(voices, 1) for note in _notes(hand, number, text)]
    notes.sort(key=lambda note: (note.onset, note.hand != "right", note.midi))
    end = max((note.end for note in notes), default=Fraction(4))
    signatures = () if fifths is None else (KeySignature(Fraction(0), fifths),)
    return Piece("Written", "", "", _measures(meter, Fraction(pickup), end), signatures, tuple(notes))


def _listed(voices: Voices) -> list[str]:
    return [voices] if isinstance(voices, str) else list(voices)


def _notes(hand: Hand, voice: int, text: str) -> list[Note]:
    notes = []
    onset = Fraction(0)
    for number, word in enumerate(text.split()):
        names, length = word.rstrip("!").split(":")
        for place, name in enumerate(() if names == "r" else names.split("+")):
            identity = f"v{voice}n{number}" + (f"c{place}" if place else "")
            pitch = pitch_from_name(name)
            notes.append(Note(identity, hand, voice, onset, Fraction(length), pitch, fermata=word.endswith("!")))
        onset += Fraction(length)
    return notes


def _measures(meter: tuple[int, int], pickup: Fraction, end: Fraction) -> tuple[Measure, ...]:
    full = Fraction(4 * meter[0], meter[1])
    measures = [Measure("m0", 0, 0, Fraction(0), pickup, *meter, padding=full - pickup)] if pickup else []
    onset = pickup
    while onset < end or not measures:
        index = len(measures)
        measures.append(Measure(f"m{index}", index, index + (not pickup), onset, full, *meter))
        onset += full
    return tuple(measures)
