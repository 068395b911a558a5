"""The two machine-readable reports as types: what `counterpane analyse` and `counterpane assess` print.

The reports are made in analysis/ and listening/; here their keys are named for the page. Further keys are
allowed, so that a newer report reaches an older page whole.
"""

from __future__ import annotations

from typing import Any, Literal

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
    composer: str
    key: str
    meter: str
    measures: int
    hands: list[Hand]
    voices: list[int]
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
    reason: str
    missing: Literal["head", "tail"] | None
    extra_notes: int
    varied_notes: list[str]
    axis_step: int


@_open
class ReportSequence(TypedDict):
    """A model and its copies; the count includes the model."""

    id: str
    hands: list[Hand]
    start: ReportPlace
    end: ReportPlace
    count: int
    direction: Direction
    step: int
    notes: list[str]
    copies: list[list[str]]
    statements: list[str]
    real: bool
    confidence: float
    reason: str


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
    notes: list[str]
    confidence: float
    reason: str


@_open
class ReportSection(TypedDict):
    """A stretch with one treatment of the subject."""

    label: str
    kind: str
    time: int
    start: ReportPlace
    end: ReportPlace
    first_measure: int
    last_measure: int
    key: str
    statements: list[str]
    sequences: list[str]
    confidence: float
    reason: str


@_open
class ReportCount(TypedDict):
    """One cell of the count table: what one kind of section holds at one time."""

    kind: str
    time: int
    section: str
    statements: int
    upright: int
    inverted: int
    right: int
    left: int
    key: str
    sequence: Direction | None


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
    section: str | None
    sequence: str | None
    reason: str


@_open
class ReportSuggestion(TypedDict):
    """A proposal about style; `decision` is the teacher's, None while it is open."""

    id: str
    place: ReportPlace
    end: ReportPlace
    kind: str
    text: str
    reason: str
    notes: list[str]
    decision: Literal["accept", "edit"] | None


@_open
class ReportStretch(TypedDict):
    """An episode: a stretch in which no voice states the subject."""

    start: ReportPlace
    end: ReportPlace
    notes: list[str]
    reason: str


@_open
class ReportPedalPoint(TypedDict):
    """A held or repeated tone under or over moving parts."""

    hand: Hand
    start: ReportPlace
    end: ReportPlace
    pitch: str
    notes: list[str]
    confidence: float
    reason: str


@_open
class ReportExchange(TypedDict):
    """What the two hands played in one stretch returns with the hands exchanged."""

    first_start: ReportPlace
    first_end: ReportPlace
    second_start: ReportPlace
    second_end: ReportPlace
    notes: list[str]
    confidence: float
    reason: str


@_open
class ReportCountersubject(TypedDict):
    """What goes with the subject at least twice."""

    occurrences: list[list[str]]
    confidence: float
    reason: str


@_open
class ReportPuzzle(TypedDict):
    """A question about how the piece is made."""

    id: str
    level: int
    question: str
    kind: str
    choices: list[str]
    answer: list[str] | int
    groups: list[list[str]]
    hint: list[str]
    explanation: str
    first_measure: int
    last_measure: int
    rests_on: list[str]
    side_by_side: list[list[int]]


@_open
class AnalysisReport(TypedDict):
    """Everything found in a score."""

    piece: ReportPiece
    notes: list[ReportNote]
    subject: ReportSubject | None
    no_subject_reason: str
    alternatives: list[ReportSubject]
    statements: list[ReportStatement]
    countersubject: ReportCountersubject | None
    episodes: list[ReportStretch]
    pedal_points: list[ReportPedalPoint]
    exchanges: list[ReportExchange]
    sequences: list[ReportSequence]
    keys: list[ReportKey]
    cadences: list[ReportCadence]
    sections: list[ReportSection]
    count_table: list[ReportCount]
    comparisons: list[ReportComparison]
    peak: ReportPeak | None
    section_peaks: list[ReportPeak]
    suggestions: list[ReportSuggestion]
    puzzles: list[ReportPuzzle]
    warnings: list[str]


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
    {
        "event": int,
        "from": ReportPlace | None,
        "to": ReportPlace,
        "kind": JumpKind,
        "from_note": str | None,
        "to_note": str,
    },
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
    warnings: list[str]
