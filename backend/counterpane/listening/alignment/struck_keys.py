"""The keys of a performance in time order, as three rows: which, when, and for how long they were held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from counterpane.model.performance import Performance


@dataclass(frozen=True)
class StruckKeys:
    """Keys by event; times in milliseconds. `held_ms` is None where it is not known when a key was let go."""

    keys: Sequence[int]
    times_ms: Sequence[float]
    held_ms: Sequence[float | None]

    def __len__(self) -> int:
        return len(self.keys)

    def transposed_by(self, semitones: int) -> StruckKeys:
        """Return every key so much higher."""
        return replace(self, keys=[key + semitones for key in self.keys]) if semitones else self

    def first(self, count: int) -> StruckKeys:
        """Return the first keys, so many."""
        return StruckKeys(self.keys[:count], self.times_ms[:count], self.held_ms[:count])

    def struck_at(self, times_ms: Sequence[float]) -> tuple[StruckKeys, list[int]]:
        """Return the keys as if struck at other times, in the order of those, and which event each was."""
        order = sorted(range(len(self)), key=times_ms.__getitem__)
        moved = StruckKeys(
            [self.keys[event] for event in order],
            [times_ms[event] for event in order],
            [self.held_ms[event] for event in order],
        )
        return moved, order


def read_struck_keys(performance: Performance) -> StruckKeys:
    """Return the keys that were struck in a performance; for how long is not known where a release is lost."""
    notes = performance.notes
    releases = [performance.released_ms(note) for note in notes]
    return StruckKeys(
        [note.midi for note in notes],
        [note.onset_ms for note in notes],
        [
            None if release is None else release - note.onset_ms
            for note, release in zip(notes, releases, strict=True)
        ],
    )
