"""A small composer of two-part practice pieces: motifs, sequences, imitation, repeated notes, a last chord.

Every piece is made from a seed, so that tests and benchmarks never depend on one piece.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

from counterpane.model.piece import GraceNote, Hand, KeySignature, Measure, Note, Piece, Pitch

_RHYTHMS = {
    Fraction(2): (
        (Fraction(1, 4),) * 8,
        (Fraction(1, 2), *(Fraction(1, 4),) * 6),
        (Fraction(1, 2),) * 4,
        (Fraction(1), Fraction(1, 2), Fraction(1, 2)),
        (Fraction(3, 4), Fraction(1, 4), Fraction(1, 2), Fraction(1, 2)),
    ),
}
_CALM = (
    (Fraction(1), Fraction(1)),
    (Fraction(1, 2),) * 4,
    (Fraction(2),),
    (Fraction(1, 2), Fraction(1, 2), Fraction(1)),
)
_SIGNS = ("trill", "mordent", "inverted-mordent", "turn", "appoggiatura")


def compose(seed: int, measures: int = 16, ornaments: float = 0.04, graces: float = 0.0) -> Piece:
    """Return a two-part piece in 4/4 and a random major key, about 14 notes a measure."""
    chance = Random(seed)
    fifths = chance.randint(-3, 3)
    tonic_step = (fifths * 4) % 7
    writer = _Writer(chance, fifths, tonic_step, ornaments, graces)
    writer.write(measures)
    return writer.piece(f"Study {seed}", measures)


class _Writer:
    def __init__(self, chance: Random, fifths: int, tonic: int, ornaments: float, graces: float) -> None:
        self.chance = chance
        self.fifths = fifths
        self.tonic = tonic
        self.ornament_rate = ornaments
        self.grace_rate = graces
        self.notes: list[Note] = []
        self.graces: list[GraceNote] = []
        self.motifs = [self._motif() for _ in range(3)]

    def _motif(self) -> list[tuple[int, Fraction]]:
        rhythm = self.chance.choice(_RHYTHMS[Fraction(2)])
        degree, motif = 0, []
        for length in rhythm:
            motif.append((degree, length))
            degree += self.chance.choice((-2, -1, -1, 0, 1, 1, 2, 3))
        return motif

    def write(self, measures: int) -> None:
        onset = Fraction(0)
        last = Fraction(4 * (measures - 1))
        while onset < last:
            leader: Hand = self.chance.choice(("right", "left"))
            motif = self.chance.choice(self.motifs)
            copies = self.chance.choice((1, 2, 2, 3, 4))
            step = self.chance.choice((-1, 1, 2, -2, 0))
            start = self.chance.randint(-2, 4)
            for copy in range(copies):
                if onset >= last:
                    break
                self._put(leader, onset, motif, start + step * copy)
                self._accompany("left" if leader == "right" else "right", onset)
                onset += 2
        self._final_chord(last)

    def _put(self, hand: Hand, onset: Fraction, motif: list[tuple[int, Fraction]], start: int) -> None:
        for degree, length in motif:
            self._add(hand, onset, length, max(-7, min(9, start + degree)))
            onset += length

    def _accompany(self, hand: Hand, onset: Fraction) -> None:
        degree = self.chance.randint(-3, 5)
        for length in self.chance.choice(_CALM):
            if self.chance.random() > 0.08:
                self._add(hand, onset, length, degree)
            onset += length
            degree += self.chance.choice((-4, -2, -1, 0, 0, 1, 2, 4))

    def _final_chord(self, onset: Fraction) -> None:
        for degree in (0, 2, 4):
            self._add("right", onset, Fraction(4), degree)
        self._add("left", onset, Fraction(4), 0)

    def _add(self, hand: Hand, onset: Fraction, length: Fraction, degree: int) -> None:
        pitch = self._pitch((35 if hand == "right" else 22) + self.tonic + degree)
        signs = (
            (self.chance.choice(_SIGNS),) if length >= 1 and self.chance.random() < self.ornament_rate * 4 else ()
        )
        note = Note(f"n{len(self.notes)}", hand, 1 if hand == "right" else 2, onset, length, pitch, signs)
        self.notes.append(note)
        if self.chance.random() < self.grace_rate:
            grace = self._pitch((35 if hand == "right" else 22) + self.tonic + degree + 1)
            self.graces.append(GraceNote(f"g{len(self.graces)}", hand, note.voice, onset, grace, note.id, True))

    def _pitch(self, diatonic: int) -> Pitch:
        step = "CDEFGAB"[diatonic % 7]
        sharps, flats = "FCGDAEB"[: max(0, self.fifths)], "BEADGCF"[: max(0, -self.fifths)]
        return Pitch(step, (step in sharps) - (step in flats), diatonic // 7)

    def piece(self, title: str, measures: int) -> Piece:
        order = sorted(self.notes, key=lambda note: (note.onset, note.hand != "right", note.midi))
        written = tuple(Measure(f"m{n}", n, n + 1, Fraction(4 * n), Fraction(4), 4, 4) for n in range(measures))
        signature = KeySignature(Fraction(0), self.fifths, "major")
        return Piece(title, "", title, written, (signature,), tuple(order), tuple(self.graces), 90.0)


def in_other_octaves(piece: Piece, right: int, left: int) -> Piece:
    """Return the piece with each hand moved by whole octaves."""
    moved = tuple(
        replace(
            note,
            pitch=replace(note.pitch, octave=note.pitch.octave + (right if note.hand == "right" else left)),
        )
        for note in piece.notes
    )
    return replace(piece, notes=moved)
