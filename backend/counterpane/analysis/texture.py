"""What sounds at a moment, and what sounded just before it, voice by voice.

Times here are quarters as floating-point numbers, because a moment is only compared with others; two moments less
than a thousandth of a quarter apart are one.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from counterpane.model.piece import Note, Piece

MOMENT = 1e-3
_T = TypeVar("_T")


@dataclass(frozen=True)
class VoiceTrack:
    """One voice in time order: onsets and ends in quarters, and the notes."""

    voice: int
    onsets: list[float]
    ends: list[float]
    notes: list[Note]

    def sounding(self, time: float) -> list[Note]:
        """Return the notes of this voice that sound at `time`, from low to high."""
        last = bisect_right(self.onsets, time + MOMENT)
        found = [self.notes[i] for i in range(max(0, last - 8), last) if self.ends[i] > time + MOMENT]
        return sorted(found, key=lambda note: note.midi)

    def struck_between(self, start: float, end: float) -> list[Note]:
        """Return the notes that begin in [start, end)."""
        first = bisect_left(self.onsets, start - MOMENT)
        return self.notes[first : bisect_left(self.onsets, end - MOMENT)]

    def last_before(self, time: float, within: float) -> list[Note]:
        """Return the notes struck together last before `time`, if they end less than `within` before it."""
        stop = bisect_left(self.onsets, time - MOMENT)
        if stop == 0 or self.ends[stop - 1] < time - within - MOMENT:
            return []
        first = bisect_left(self.onsets, self.onsets[stop - 1] - MOMENT)
        return self.notes[first:stop]


@dataclass(frozen=True)
class Texture:
    """All voices of a piece, from the highest to the lowest."""

    tracks: tuple[VoiceTrack, ...]

    def sounding(self, time: float) -> list[Note]:
        """Return every note that sounds at `time`, from low to high."""
        return sorted((n for track in self.tracks for n in track.sounding(time)), key=lambda note: note.midi)

    def struck_between(self, start: float, end: float) -> list[Note]:
        """Return every note that begins in [start, end), in time order."""
        found = [note for track in self.tracks for note in track.struck_between(start, end)]
        return sorted(found, key=lambda note: note.onset)


def notes_begun(piece: Piece, start: Fraction, end: Fraction) -> tuple[Note, ...]:
    """Return the notes of `piece` that begin in [start, end) quarters, found without looking at the others."""
    return begun_between(piece.notes, start, end, _onset)


def begun_between(
    ordered: Sequence[_T], start: Fraction, end: Fraction, onset: Callable[[_T], Fraction]
) -> tuple[_T, ...]:
    """Return what begins in [start, end) quarters, of things in the order of their onsets."""
    first = bisect_left(ordered, start, key=onset)
    return tuple(ordered[first : bisect_left(ordered, end, lo=first, key=onset)])


def _onset(note: Note) -> Fraction:
    return note.onset


def texture_of(piece: Piece) -> Texture:
    """Return the voices of `piece` as tracks."""
    by_voice: dict[int, list[Note]] = {voice: [] for voice in piece.voices}
    for note in piece.notes:
        by_voice[note.voice].append(note)
    return Texture(
        tuple(
            VoiceTrack(voice, [float(n.onset) for n in notes], [float(n.end) for n in notes], notes)
            for voice, notes in by_voice.items()
        )
    )
