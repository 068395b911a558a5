"""What to do today, what an attempt gave, and the coming days."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from counterpane.model.piece import Hand, Hands
from counterpane.model.practice import ItemKind, PatchState
from counterpane.studio.pages.pieces import AttemptCard, Picture
from counterpane.studio.pages.report import AssessmentReport, ReportPlace

Source = Literal["web-midi", "paired", "self-judged", "file"]


@dataclass(frozen=True)
class TodayItem:
    """One thing to do: where, which step, how long, and why today."""

    kind: ItemKind
    piece_id: int
    piece_title: str
    section: str
    patch_id: str
    step_id: str
    puzzle_id: str | None
    hands: Hands
    first_measure: int
    last_measure: int
    tempo: float
    minutes: float
    title: str
    reason: str
    state: PatchState


@dataclass(frozen=True)
class TodayPage:
    """Today's practice within the teacher's minutes; `care` are the usual cautions in plain words."""

    student_id: int
    date: str
    minutes: int
    minutes_done: float
    next_lesson: str | None
    note_from_teacher: str
    rest_day: bool
    sentence: str
    items: tuple[TodayItem, ...]
    care: tuple[str, ...]


@dataclass(frozen=True)
class PlannedDay:
    """One day of the plan; a rest day has no items."""

    date: str
    rest_day: bool
    lesson: bool
    minutes: float
    items: tuple[TodayItem, ...]


@dataclass(frozen=True)
class PlanPage:
    """The coming days, supposing that each is practised as planned."""

    student_id: int
    days: tuple[PlannedDay, ...]


@dataclass(frozen=True)
class FindingCard:
    """One thing observed in an attempt: where, in which words, on what evidence, and what to try next."""

    kind: str
    hand: Hand | None
    place: ReportPlace
    end: ReportPlace
    text: str
    next_step: str
    notes: tuple[str, ...]
    evidence: dict[str, float | int | str]


@dataclass(frozen=True)
class NextStep:
    """What to try next: `step_id` None means that the patch is done for now."""

    patch_id: str
    step_id: str | None
    sentence: str


@dataclass(frozen=True)
class AttemptPage:
    """One attempt with what was heard in it.

    `findings` are those to show: the few that help a student most, all of them for the teacher. `assessment` is
    the object of the machine-readable report (see `counterpane assess`), None when the attempt was self-judged;
    `repeated` says that this attempt had arrived before and nothing was added.
    """

    attempt: AttemptCard
    piece_id: int
    student_id: int
    assessment: AssessmentReport | None
    findings: tuple[FindingCard, ...]
    pictures: tuple[Picture, ...]
    next: NextStep
    repeated: bool


@dataclass(frozen=True)
class AttemptRecord:
    """An attempt with its raw key events, [time_ms, status, data1, data2] each, to be heard again."""

    page: AttemptPage
    raw_events: tuple[tuple[float, int, int, int], ...]
