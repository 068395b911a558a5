"""What was heard in an attempt: the alignment, the measures and the findings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from counterpane.model.piece import Hand, Hands, Place
from counterpane.model.practice import Passage

NoteStatus = Literal["played", "replaced", "left_out", "not_reached"]
EventStatus = Literal["as_written", "replacement", "added", "abandoned"]
JumpKind = Literal["restart", "back", "skip"]


@dataclass(frozen=True, slots=True)
class NoteResult:
    """What became of one written note; `event` is the (last) event that played or replaced it."""

    note: str
    status: NoteStatus
    event: int | None


@dataclass(frozen=True, slots=True)
class EventResult:
    """What one struck key was; `note` is the written note that it played, replaced or reached.

    `run` numbers the passes: it grows by one at every jump, so that measures are computed within a pass.
    """

    event: int
    status: EventStatus
    note: str | None
    run: int


@dataclass(frozen=True, slots=True)
class Jump:
    """Before `event` the player went from one written note to another that does not follow it."""

    event: int
    from_note: str | None
    to_note: str
    from_place: Place | None
    to_place: Place
    kind: JumpKind


@dataclass(frozen=True)
class Alignment:
    """Played notes paired with written ones.

    `notes` are those of the passage in the hands that were asked; an event may name a note beyond them when
    the player went on, or used the other hand too. `transposed_by` is how many semitones everything sounds
    above what is written; `hands` is what was inferred to play.
    """

    notes: tuple[NoteResult, ...]
    events: tuple[EventResult, ...]
    jumps: tuple[Jump, ...]
    transposed_by: int = 0
    hands: Hands = "both"
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Finding:
    """One thing observed: where, in which words, on what evidence, and what to try next."""

    kind: str
    hand: Hand | None
    place: Place
    end: Place
    text: str
    next_step: str
    notes: tuple[str, ...]
    weight: float
    evidence: dict[str, float | int | str]


@dataclass(frozen=True, slots=True)
class MeasureTally:
    """How one hand fared in one measure: passes through it, how many of them had trouble, and of which sort."""

    measure: int
    hand: Hand
    visits: int
    troubled: int
    notes: int
    wrong: int = 0
    left_out: int = 0
    hesitations: int = 0
    stops: int = 0


@dataclass(frozen=True)
class Assessment:
    """Everything about one attempt. `measures` maps a measure's name to its JSON-ready dict.

    `findings` are all of them, what would help most first; `for_student` are the few that a student is told.
    """

    engine: str
    passage: Passage
    alignment: Alignment
    measures: dict[str, dict[str, object]]
    findings: tuple[Finding, ...]
    for_student: tuple[Finding, ...] = ()
    tallies: tuple[MeasureTally, ...] = ()
    warnings: tuple[str, ...] = ()
