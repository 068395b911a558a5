"""The keys of a performance in time order, as three rows: which, when, and for how long they were held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from counterpane.model.performance import Performance


@dataclass(frozen=True)
class Struck:
    """Keys by event; times in milliseconds. `held_ms` is None for a key that was never let go."""

    keys: Sequence[int]
    times_ms: Sequence[float]
    held_ms: Sequence[float | None]

    def __len__(self) -> int:
        return len(self.keys)

    def transposed_by(self, semitones: int) -> Struck:
        """Return every key so much higher."""
        return replace(self, keys=[key + semitones for key in self.keys]) if semitones else self

    def first(self, count: int) -> Struck:
        """Return the first keys, so many."""
        return Struck(self.keys[:count], self.times_ms[:count], self.held_ms[:count])

    def struck_at(self, times_ms: Sequence[float]) -> tuple[Struck, list[int]]:
        """Return the keys as if struck at other times, in the order of those, and which event each was."""
        order = sorted(range(len(self)), key=times_ms.__getitem__)
        moved = Struck(
            [self.keys[event] for event in order],
            [times_ms[event] for event in order],
            [self.held_ms[event] for event in order],
        )
        return moved, order


def read_struck(performance: Performance) -> Struck:
    """Return the keys that were struck in a performance."""
    notes = performance.notes
    return Struck(
        [note.midi for note in notes],
        [note.onset_ms for note in notes],
        [None if note.release_ms is None else note.release_ms - note.onset_ms for note in notes],
    )
