"""What makes playing expressive rather than faulty: a tempo that gives way, rolled chords, a leading melody."""

from __future__ import annotations

import math
from collections.abc import Sequence
from random import Random

from counterpane.model.piece import Note, Piece
from demo.simulation.faults import Faults

_CHORD = 3
_ROLL_MS = (20.0, 70.0)
_PHRASE_MEASURES = 4
_PHRASE_END = 0.8
_INERTIA = 0.9
"""How much of the tempo's wandering is left after each onset."""


class Expression:
    """Draws from `chance` only what the faults ask for."""

    def __init__(self, piece: Piece, faults: Faults, chance: Random) -> None:
        self.piece = piece
        self.faults = faults
        self.chance = chance
        self.wandering = 0.0

    def rubato(self, note: Note) -> float:
        """Return how much longer a quarter lasts after this note: the tempo wanders, and phrases end slower."""
        spread = self.faults.rubato
        if not spread:
            return 1.0
        drawn = self.chance.gauss(0.0, math.sqrt(1.0 - _INERTIA**2) * spread)
        self.wandering = _INERTIA * self.wandering + drawn
        measure = self.piece.measure_at(note.onset)
        inside = float((note.onset - measure.onset) / measure.length)
        phrase = (measure.index % _PHRASE_MEASURES + inside) / _PHRASE_MEASURES
        ending = max(0.0, phrase - _PHRASE_END) / (1.0 - _PHRASE_END)
        return math.exp(self.wandering) * (1.0 + 3.0 * spread * ending)

    def roll_ms(self, chord: Sequence[Note], room_ms: float) -> float:
        """Return the time from each note of a rolled chord to the next above, 0 if it is not rolled.

        `room_ms` is the time until the next onset, before which the chord is rolled to its end.
        """
        if not self.faults.rolled or len(chord) < _CHORD or self.chance.random() >= self.faults.rolled:
            return 0.0
        return min(self.chance.uniform(*_ROLL_MS), room_ms / len(chord))

    def lead_ms(self, note: Note, chord: Sequence[Note]) -> float:
        """Return by how much a note comes sooner than the others struck with it: the highest leads."""
        mean = self.faults.lead_ms
        if not mean or len(chord) == 1 or note is not max(chord, key=lambda other: other.midi):
            return 0.0
        return abs(self.chance.gauss(mean, mean))
