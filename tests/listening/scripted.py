"""A piano that plays what it is told, in place of an instrument at a MIDI input."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from counterpane.listening.events import RawEvent


class ScriptedSource:
    """Plays batches of events, one a read; then it is gone."""

    def __init__(self, batches: Iterable[Sequence[RawEvent]], name: str = "scripted") -> None:
        self.name = name
        self._batches = [list(batch) for batch in batches]

    def read(self, seconds: float) -> list[RawEvent]:  # noqa: ARG002 - a script never waits
        """Return the next batch."""
        return self._batches.pop(0) if self._batches else []

    @property
    def gone(self) -> bool:
        """Whether the script is over."""
        return not self._batches

    def close(self) -> None:
        """End the script."""
        self._batches.clear()
