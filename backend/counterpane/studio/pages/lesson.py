"""What parents and the teacher read: the log, the lesson brief, the printed sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from counterpane.model.piece import Hand, Hands
from counterpane.model.practice import Decision
from counterpane.studio.pages.people import StudentCard
from counterpane.studio.pages.pieces import PieceCard
from counterpane.studio.pages.report import AnalysisReport

Trend = Literal["worse", "steady", "better"]


@dataclass(frozen=True)
class LoggedPatch:
    """What was practised of one patch on one day."""

    piece_id: int
    piece_title: str
    patch_id: str
    section: str
    first_measure: int
    last_measure: int
    hands: Hands
    attempts: int
    met_goals: int
    self_judged: int


@dataclass(frozen=True)
class LoggedDay:
    """One day of practice: minutes at the instrument, and what they went into."""

    date: str
    minutes: float
    self_judged_minutes: float
    patches: tuple[LoggedPatch, ...]
    puzzles: int


@dataclass(frozen=True)
class LoggedWeek:
    """A week from Monday, with what the teacher asked in it."""

    start: str
    minutes: float
    asked: tuple[str, ...]
    days: tuple[LoggedDay, ...]


@dataclass(frozen=True)
class LogPage:
    """The parent's page: weeks, newest first, and how to help this week."""

    student: StudentCard
    weeks: tuple[LoggedWeek, ...]
    how_to_help: tuple[str, ...]


@dataclass(frozen=True)
class WeakSpot:
    """A place that keeps going wrong, with evidence; `svg` is the measure, engraved."""

    piece_id: int
    piece_title: str
    measure: int
    hand: Hand | None
    kind: str
    text: str
    evidence: str
    attempts: int
    trend: Trend
    certainty: float
    svg: str


@dataclass(frozen=True)
class Unpractised:
    """A section that was assigned and not touched since the last lesson."""

    piece_id: int
    piece_title: str
    section: str
    first_measure: int
    last_measure: int
    reason: str


@dataclass(frozen=True)
class LessonStep:
    """One step of the proposed lesson order."""

    piece_id: int
    title: str
    text: str
    minutes: int


@dataclass(frozen=True)
class PuzzleTally:
    """How a student does with one kind of puzzle: which devices are found and which not."""

    kind: str
    right: int
    tried: int


@dataclass(frozen=True)
class DecidedPiece:
    """What the student decided for a piece; the analysis' own invitations are left out."""

    piece_id: int
    piece_title: str
    decisions: tuple[Decision, ...]


@dataclass(frozen=True)
class BriefPage:
    """The teacher's two minutes before a lesson."""

    student: StudentCard
    since: str
    minutes: float
    minutes_asked: int
    days_practised: int
    self_judged_share: float
    weak_spots: tuple[WeakSpot, ...]
    not_practised: tuple[Unpractised, ...]
    proposed_order: tuple[LessonStep, ...]
    puzzles: tuple[PuzzleTally, ...]
    decisions: tuple[DecidedPiece, ...]


@dataclass(frozen=True)
class SheetPage:
    """The printed analysis sheet: the engraved piece and the analysis object to mark on it."""

    piece: PieceCard
    svgs: tuple[str, ...]
    analysis: AnalysisReport
