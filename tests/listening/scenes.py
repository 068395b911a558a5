"""Short pieces and performances written as text, so that a test shows what is written beside what is played.

A hand: note names of eighths, "." for holding on, "|" for the reader. Two keys struck together: "C5+C3". A
performance: keys 250 ms apart; "~" before a key is a pause of two seconds more, "@" after it another time in ms
since the key before, "/" how long it was held.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from counterpane.listening.alignment import align
from counterpane.model.assessment import Alignment
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.piece import Hand, Hands, Measure, Note, Piece
from counterpane.model.practice import Passage
from counterpane.units import pitch_from_name

STEP_MS = 250.0
PAUSE_MS = 2000.0

RIGHT = "C5 D5 E5 F5 G5 A5 B5 C6 | B5 A5 G5 F5 E5 D5 C5 B4 | C5 E5 G5 E5 F5 A5 F5 D5 | C5 . . . . . . ."
LEFT = "C3 . E3 . G3 . E3 . | G3 . F3 . E3 . G3 . | C3 . C3 . F3 . G3 . | C3 . . . . . . ."


def written(right: str = RIGHT, left: str = LEFT, ornaments: dict[str, str] | None = None) -> Piece:
    """Return a piece in 4/4; ids are the hand's letter and the number of the eighth, with a letter in chords."""
    notes = sorted(
        [*_hand("right", right), *_hand("left", left)],
        key=lambda note: (note.onset, note.hand != "right", note.midi),
    )
    signs = ornaments or {}
    signed = tuple(replace(note, ornaments=(signs[note.id],)) if note.id in signs else note for note in notes)
    count = max(1, -(-int(max(note.end for note in notes)) // 4))
    measures = tuple(Measure(f"m{n}", n, n + 1, Fraction(4 * n), Fraction(4), 4, 4) for n in range(count))
    return Piece("Scene", "", "scene", measures, (), signed)


def _hand(hand: Hand, text: str) -> list[Note]:
    slots = text.replace("|", "").split()
    notes: list[Note] = []
    for place, slot in enumerate(slots):
        here = Fraction(place, 2)
        if slot == ".":
            notes = [replace(n, duration=n.duration + Fraction(1, 2)) if n.end == here else n for n in notes]
            continue
        for letter, name in zip(["", *"abcd"], slot.split("+"), strict=False):
            voice = 1 if hand == "right" else 2
            note_id = f"{hand[0]}{place}{letter}"
            notes.append(Note(note_id, hand, voice, here, Fraction(1, 2), pitch_from_name(name)))
    return notes


def played(text: str, step_ms: float = STEP_MS) -> Performance:
    """Return a performance of the keys in the text."""
    notes: list[PlayedNote] = []
    time = -step_ms
    for slot in text.replace("|", "").split():
        names, _, timing = slot.lstrip("~").partition("@")
        gap, _, held = timing.partition("/")
        time += float(gap or step_ms) + PAUSE_MS * slot.startswith("~")
        for key in sorted(pitch_from_name(name).midi for name in names.split("+")):
            notes.append(PlayedNote(len(notes), time, time + float(held or step_ms), key, 64))
    return Performance(tuple(notes))


def whole(piece: Piece, hands: Hands = "both") -> Passage:
    """Return the whole piece as a passage."""
    return Passage(piece.measures[0].number, piece.measures[-1].number, hands, 120.0)


def heard(piece: Piece, text: str, hands: Hands = "both", step_ms: float = STEP_MS) -> Alignment:
    """Align the text with the whole piece."""
    return align(piece, whole(piece, hands), played(text, step_ms))


def said(alignment: Alignment) -> str:
    """Return one word an event: "=" played, "!" in place of, "?" part of an abandoned start, "+" added."""
    signs = {"as_written": "=", "replacement": "!", "abandoned": "?", "added": "+"}
    return " ".join(f"{signs[event.status]}{event.note or ''}" for event in alignment.events)


def left_out(alignment: Alignment) -> str:
    """Return the notes that were left out, as text."""
    return " ".join(note.note for note in alignment.notes if note.status == "left_out")
