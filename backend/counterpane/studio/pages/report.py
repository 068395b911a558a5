"""The two machine-readable reports as types: what `counterpane analyse` and `counterpane assess` print.

The reports are made in analysis/ and listening/; here their keys are named for the page. Further keys are
allowed, so that a newer report reaches an older page whole.
"""

from __future__ import annotations

from typing import Any

from pydantic import ConfigDict, with_config
from typing_extensions import TypedDict  # pydantic reads no other TypedDict before Python 3.12

from counterpane.model.analysis import CadenceKind, Direction, Extent, Form, Likeness
from counterpane.model.assessment import EventStatus, JumpKind, NoteStatus
from counterpane.model.piece import Hand, Hands

_open = with_config(ConfigDict(extra="allow"))


@_open
class ReportPlace(TypedDict):
    """A point in the score: measure as printed, beat from 1, offset in quarter notes."""

    measure: int
    beat: float
    offset: float


@_open
class ReportPiece(TypedDict):
    """The piece in one line."""

    title: str
    key: str
    meter: str
    measures: int
    hands: list[Hand]
    voices: int | list[int]
    hands_guessed: bool


@_open
class ReportNote(TypedDict):
    """One sounding note; `duration` in quarter notes."""

    id: str
    hand: Hand
    voice: int
    place: ReportPlace
    duration: float
    pitch: str
    midi: int


@_open
class ReportSubject(TypedDict):
    """The subject or a candidate for it."""

    hand: Hand
    voice: int
    start: ReportPlace
    end: ReportPlace
    notes: list[str]
    confidence: float
    reason: str


@_open
class ReportStatement(TypedDict):
    """One statement of the subject."""

    id: str
    hand: Hand
    voice: int
    start: ReportPlace
    end: ReportPlace
    form: Form
    extent: Extent
    likeness: Likeness
    notes: list[str]
    confidence: float


@_open
class ReportSequence(TypedDict):
    """A model and its copies; the count includes the model."""

    hands: list[Hand]
    start: ReportPlace
    end: ReportPlace
    count: int
    direction: Direction
    step: int
    statements: list[str]


@_open
class ReportKey(TypedDict):
    """The key of one measure."""

    measure: int
    key: str
    confidence: float


@_open
class ReportCadence(TypedDict):
    """A point of rest."""

    place: ReportPlace
    key: str
    kind: CadenceKind
    confidence: float


@_open
class ReportSection(TypedDict):
    """A stretch with one treatment of the subject."""

    label: str
    start: ReportPlace
    end: ReportPlace
    key: str
    statements: list[str]
    sequences: list[Any]


@_open
class ReportDifference(TypedDict):
    """One short fact about how two sections differ."""

    kind: str
    text: str


@_open
class ReportComparison(TypedDict):
    """Two sections of one kind."""

    first: str
    second: str
    differences: list[ReportDifference]


@_open
class ReportPeak(TypedDict):
    """The highest note."""

    place: ReportPlace
    pitch: str
    hand: Hand
    note: str


@_open
class ReportSuggestion(TypedDict):
    """A proposal about style."""

    place: ReportPlace
    kind: str
    text: str
    reason: str


@_open
class ReportPuzzle(TypedDict):
    """A question about how the piece is made."""

    id: str
    level: int
    question: str
    kind: str
    answer: list[str] | int


@_open
class AnalysisReport(TypedDict):
    """Everything found in a score."""

    piece: ReportPiece
    notes: list[ReportNote]
    subject: ReportSubject | None
    alternatives: list[ReportSubject]
    statements: list[ReportStatement]
    sequences: list[ReportSequence]
    keys: list[ReportKey]
    cadences: list[ReportCadence]
    sections: list[ReportSection]
    comparisons: list[ReportComparison]
    peak: ReportPeak | None
    suggestions: list[ReportSuggestion]
    puzzles: list[ReportPuzzle]


@_open
class ReportDrill(TypedDict):
    """What an attempt was measured against; tempo in quarter notes a minute."""

    hands: Hands
    measures: list[int]
    tempo: float


@_open
class ReportNoteResult(TypedDict):
    """What became of one written note."""

    note: str
    status: NoteStatus
    event: int | None


@_open
class ReportEventResult(TypedDict):
    """What one struck key was."""

    event: int
    status: EventStatus
    note: str | None


ReportJump = TypedDict(
    "ReportJump",
    {"event": int, "from": ReportPlace | str | None, "to": ReportPlace | str, "kind": JumpKind},
)


@_open
class ReportFinding(TypedDict):
    """One thing observed: where, in which hand, in words, what to try next, on what evidence."""

    kind: str
    hand: Hand | None
    place: ReportPlace
    end: ReportPlace
    text: str
    next_step: str
    notes: list[str]
    evidence: dict[str, float | int | str]


@_open
class AssessmentReport(TypedDict):
    """Everything heard in an attempt. `measures` maps a measure's name to its value, or None with a reason."""

    drill: ReportDrill
    notes: list[ReportNoteResult]
    events: list[ReportEventResult]
    jumps: list[ReportJump]
    measures: dict[str, Any]
    findings: list[ReportFinding]
