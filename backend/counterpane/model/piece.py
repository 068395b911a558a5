"""What is written: a keyboard piece as notes with spelling, hand and onset.

Score time is counted in quarter notes as exact fractions from the start of the first measure, the pickup
included. Seconds and ticks never appear here.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Literal

Hand = Literal["right", "left"]
Hands = Literal["right", "left", "both"]
HANDS: tuple[Hand, Hand] = ("right", "left")
STEPS = "CDEFGAB"
_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch: step C to B, alteration in semitones, octave in scientific notation (C4 is middle C)."""

    step: str
    alter: int
    octave: int

    @property
    def midi(self) -> int:
        """MIDI note number; 69 is A4."""
        return 12 * (self.octave + 1) + _SEMITONES[self.step] + self.alter

    @property
    def diatonic(self) -> int:
        """Number of steps above C0, accidentals ignored: C4 is 28, D4 is 29."""
        return 7 * self.octave + STEPS.index(self.step)


@dataclass(frozen=True, slots=True)
class Place:
    """A point in the score: measure as printed, beat from 1 in the meter's lower unit, offset in quarters."""

    measure: int
    beat: Fraction
    offset: Fraction


@dataclass(frozen=True, slots=True)
class Measure:
    """One written measure. `number` is as printed; `padding` is what a pickup lacks at its start, in quarters."""

    id: str
    index: int
    number: int
    onset: Fraction
    length: Fraction
    beats: int
    beat_unit: int
    padding: Fraction = Fraction(0)
    repeat_start: bool = False
    repeat_end: bool = False
    endings: tuple[int, ...] = ()

    @property
    def end(self) -> Fraction:
        """Onset of what follows, in quarters."""
        return self.onset + self.length


@dataclass(frozen=True, slots=True)
class KeySignature:
    """A key signature from `onset` on: sharps are positive, flats negative; mode only where the file says it."""

    onset: Fraction
    fifths: int
    mode: Literal["major", "minor"] | None = None


@dataclass(frozen=True, slots=True)
class Note:
    """One sounding note: ties are joined. `heads` are the ids of its written noteheads, the first is `id`.

    `ornaments` are names of signs ("trill", "mordent", "inverted-mordent", "turn", "inverted-turn",
    "appoggiatura"); `articulations` are MusicXML/MEI names ("staccato", "tenuto", "accent"). Onset and
    duration are in quarters.
    """

    id: str
    hand: Hand
    voice: int
    onset: Fraction
    duration: Fraction
    pitch: Pitch
    ornaments: tuple[str, ...] = ()
    articulations: tuple[str, ...] = ()
    fermata: bool = False
    heads: tuple[str, ...] = ()

    @property
    def midi(self) -> int:
        """MIDI note number."""
        return self.pitch.midi

    @property
    def end(self) -> Fraction:
        """Where the note stops, in quarters."""
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class GraceNote:
    """A grace note, kept apart from measured time: it belongs before the note `principal`."""

    id: str
    hand: Hand
    voice: int
    onset: Fraction
    pitch: Pitch
    principal: str
    slashed: bool


@dataclass(frozen=True)
class Piece:
    """A keyboard piece in written order (repeats are marked, not unfolded).

    `notes` are sorted by onset, then hand (right first), then pitch from low to high. Voices are numbered
    from 1 from high to low over the whole piece; each voice belongs mainly to one hand, and a note's `hand`
    says which hand plays it. `tempo` is in quarter notes a minute where the file gives one.
    """

    title: str
    composer: str
    source_hash: str
    measures: tuple[Measure, ...]
    key_signatures: tuple[KeySignature, ...]
    notes: tuple[Note, ...]
    graces: tuple[GraceNote, ...] = ()
    tempo: float | None = None
    hands_guessed: bool = False
    warnings: tuple[str, ...] = field(default=())

    @cached_property
    def by_id(self) -> dict[str, Note]:
        """Notes by id."""
        return {note.id: note for note in self.notes}

    @cached_property
    def voices(self) -> tuple[int, ...]:
        """The voice numbers that occur, from high to low."""
        return tuple(sorted({note.voice for note in self.notes}))

    @cached_property
    def _measure_onsets(self) -> list[Fraction]:
        return [measure.onset for measure in self.measures]

    @property
    def end(self) -> Fraction:
        """Length of the piece in quarters."""
        return self.measures[-1].end

    @property
    def meter(self) -> str:
        """The first full measure's meter, for example "4/4"."""
        first = next((m for m in self.measures if not m.padding), self.measures[0])
        return f"{first.beats}/{first.beat_unit}"

    def measure_at(self, offset: Fraction) -> Measure:
        """Return the measure that holds `offset`; offsets past the end belong to the last measure."""
        return self.measures[max(0, bisect_right(self._measure_onsets, offset) - 1)]

    def place(self, offset: Fraction) -> Place:
        """Return the place of `offset` (quarters). In a pickup measure the beats are those of a full one."""
        measure = self.measure_at(offset)
        within = offset - measure.onset + measure.padding
        return Place(measure.number, 1 + within * Fraction(measure.beat_unit, 4), offset)

    def offset(self, measure_number: int, beat: Fraction) -> Fraction:
        """Return the offset in quarters of a beat in the first measure printed with that number.

        Raises `KeyError` when no measure has the number.
        """
        for measure in self.measures:
            if measure.number == measure_number:
                return measure.onset - measure.padding + (beat - 1) * Fraction(4, measure.beat_unit)
        raise KeyError(measure_number)

    def voice_notes(self, voice: int) -> tuple[Note, ...]:
        """Return the notes of one voice in time order."""
        return tuple(note for note in self.notes if note.voice == voice)
