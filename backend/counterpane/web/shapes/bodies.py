"""Response bodies: the pages of studio/, each under its own name in the OpenAPI document."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, RootModel

from counterpane.studio.pages import lesson, people, pieces, practice, report


class Problem(BaseModel):
    """What is wrong, in one sentence. `code` is for the page: sign_in, pin_needed, pin_wrong, csrf."""

    error: str
    code: str | None = None


class Health(BaseModel):
    """That the studio answers, and which versions it speaks."""

    ok: bool
    version: str
    schema_version: int


class NewPairing(BaseModel):
    """The code to type at the computer by the piano; it is good for `minutes` until it is claimed."""

    code: str
    minutes: int


class ClaimedPairing(BaseModel):
    """The secret that the computer by the piano sends with every batch of key events (`X-Pairing-Secret`)."""

    secret: str


class Received(BaseModel):
    """How many key events arrived."""

    received: int


class ExportedFamily(BaseModel):
    """Everything that is kept about a student, table by table."""

    model_config = ConfigDict(extra="allow")

    student: dict[str, Any]
    exported_at: str


class CorrectionConflict(BaseModel):
    """A correction that the present analysis contradicts, and how."""

    correction: dict[str, Any]
    text: str


class CorrectionsPage(BaseModel):
    """The teacher's corrections of a piece, and where a newer analysis contradicts them."""

    corrections: list[dict[str, Any]]
    conflicts: list[CorrectionConflict]


class Session(RootModel[people.SessionPage]):
    """The signed-in person."""


class Students(RootModel[tuple[people.StudentCard, ...]]):
    """Students the asker may see."""


class Student(RootModel[people.StudentCard]):
    """One student."""


class Links(RootModel[tuple[people.LinkCard, ...]]):
    """Links of a student and of the student's parents."""


class CreatedLink(RootModel[people.NewLink]):
    """A fresh link."""


class Assignments(RootModel[tuple[people.Assignment, ...]]):
    """What a student works on."""


class Audit(RootModel[tuple[people.AuditLine, ...]]):
    """What was done to people's data, newest first."""


class Pieces(RootModel[tuple[pieces.PieceCard, ...]]):
    """Pieces the asker may see."""


class PieceBody(RootModel[pieces.PieceCard]):
    """One piece."""


class Engraving(RootModel[pieces.EngravedPage]):
    """Engraved notation."""


class Analysed(RootModel[report.AnalysisReport]):
    """The analysis with the teacher's corrections laid over it."""


class Quilt(RootModel[pieces.QuiltPage]):
    """A piece as patches."""


class Fingering(RootModel[pieces.FingeringPage]):
    """A finger for every note."""


class Drill(RootModel[pieces.DrillPage]):
    """A patch with its ladder."""


class Decisions(RootModel[pieces.DecisionsPage]):
    """Decisions and their signs."""


class Puzzles(RootModel[tuple[pieces.PuzzleCard, ...]]):
    """Puzzles of a piece."""


class Outcome(RootModel[pieces.PuzzleOutcome]):
    """Whether a puzzle was answered rightly."""


class Attempts(RootModel[tuple[pieces.AttemptCard, ...]]):
    """Attempts, newest first."""


class AttemptResult(RootModel[practice.AttemptPage]):
    """What an attempt gave."""


class AttemptHeard(RootModel[practice.AttemptRecord]):
    """An attempt with its raw key events."""


class Today(RootModel[practice.TodayPage]):
    """Today's practice."""


class Plan(RootModel[practice.PlanPage]):
    """The coming days."""


class Log(RootModel[lesson.LogPage]):
    """The practice log."""


class Brief(RootModel[lesson.BriefPage]):
    """The lesson brief."""


class Sheet(RootModel[lesson.SheetPage]):
    """The printed analysis sheet's data."""
