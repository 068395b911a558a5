"""What is played: key events with the device's own times in milliseconds. Score time never appears here."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """One struck key. `event` counts note-ons from 0 in time order, at one instant from low to high pitch.

    Times are milliseconds on the device's clock; `release_ms` is None when the key was never let go.
    """

    event: int
    onset_ms: float
    release_ms: float | None
    midi: int
    velocity: int


@dataclass(frozen=True, slots=True)
class PedalChange:
    """The sustain pedal (MIDI controller 64) went down or up at `time_ms`."""

    time_ms: float
    down: bool


@dataclass(frozen=True)
class Performance:
    """Everything that was played in one attempt, in time order, and what had to be repaired to read it."""

    notes: tuple[PlayedNote, ...]
    pedal: tuple[PedalChange, ...] = ()
    warnings: tuple[str, ...] = ()

    def released_ms(self, played: PlayedNote) -> float | None:
        """Return when a key was let go, or None where that is not known: never, or only by being struck again."""
        lost = (played.midi, played.release_ms) in self._strikes
        return None if lost else played.release_ms

    @cached_property
    def _strikes(self) -> frozenset[tuple[int, float | None]]:
        return frozenset((note.midi, note.onset_ms) for note in self.notes)
