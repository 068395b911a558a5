"""Every error this package raises on purpose; imports nothing, so that any module may use it.

CounterpaneError
├── ScoreError            a score cannot be read or used
│   ├── UnreadableScore   damaged, unknown or hostile file
│   └── UnsuitableScore   readable, but not a keyboard piece this tool can work with
├── AnalysisError         a question about a piece that cannot be answered as asked
├── DrillError            a ladder, goal or wording file is wrong
├── PerformanceError      key events cannot be read or used
├── StoreError            the studio file cannot be read or written
│   └── Conflict          what was written meanwhile contradicts this write
├── NotFound              no such piece, person, attempt …
└── NotAllowed            this person may not do that

Each message is one sentence: what, where, what to do.
"""

from __future__ import annotations


class CounterpaneError(Exception):
    """Base of all deliberate errors: one sentence, and the place it is about where there is one."""

    def __init__(
        self,
        message: str,
        *,
        file: str | None = None,
        measure: int | None = None,
        hand: str | None = None,
    ) -> None:
        super().__init__(message)
        self.message = message
        self.file = file
        self.measure = measure
        self.hand = hand

    def __str__(self) -> str:
        where = [self.file] if self.file else []
        if self.measure is not None:
            where.append(f"measure {self.measure}")
        if self.hand:
            where.append(f"{self.hand} hand")
        return f"{', '.join(where)}: {self.message}" if where else self.message


class ScoreError(CounterpaneError):
    """A score cannot be read or used."""


class UnreadableScore(ScoreError):
    """The file is damaged, of an unknown format, or hostile."""


class UnsuitableScore(ScoreError):
    """The file is readable, but it is not a keyboard piece this tool can work with."""


class AnalysisError(CounterpaneError):
    """A question about a piece that cannot be answered as it was asked."""


class DrillError(CounterpaneError):
    """A ladder, goal or wording file is wrong; the message names file, line and key."""


class PerformanceError(CounterpaneError):
    """Key events cannot be read or used."""


class StoreError(CounterpaneError):
    """The studio file cannot be read or written."""


class Conflict(StoreError):
    """What was written meanwhile contradicts this write."""


class NotFound(CounterpaneError):
    """There is no such piece, person, patch or attempt."""


class NotAllowed(CounterpaneError):
    """The person who asks may not do that."""
