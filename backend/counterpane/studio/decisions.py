"""Musical decisions: the student's choice beside what the analysis invites; the teacher's word is final."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import cast

from counterpane.errors import CounterpaneError
from counterpane.model.practice import Decision, Leads, Shape, Touch
from counterpane.practice.decisions import invitations, marks
from counterpane.store import decisions as keeping
from counterpane.store import people
from counterpane.store.decisions import DecisionRow
from counterpane.studio.access import Asker
from counterpane.studio.house import Studio
from counterpane.studio.library import Work
from counterpane.studio.pages.pieces import DecisionsPage


@dataclass(frozen=True)
class Choice:
    """What somebody chooses for a section; None leaves it as it was invited."""

    section: str
    shape: Shape | None = None
    touch: Touch | None = None
    leads: Leads | None = None


def decisions(studio: Studio, student_id: int, piece_id: int) -> DecisionsPage:
    """Return what stands for each section, and the signs that choices (not invitations) put into the score."""
    with studio.store.read() as db:
        language = people.student(db, student_id).person.language
    work = studio.library.work(piece_id)
    standing = decided(studio, student_id, work, language)
    chosen = [one for one in standing if one.by != "analysis"]
    return DecisionsPage(standing, marks(work.piece, work.analysis, chosen))


def decide(
    studio: Studio, asker: Asker, student_id: int, piece_id: int, chosen: Iterable[Choice], now: datetime
) -> DecisionsPage:
    """Keep choices for sections; the asker's role says whose word it is."""
    role = "teacher" if asker.person.role == "teacher" else "student"
    work = studio.library.work(piece_id)
    labels = {section.label for section in work.analysis.sections}
    rows = [DecisionRow(one.section, role, one.shape, one.touch, one.leads) for one in chosen]
    for row in rows:
        if row.section not in labels:
            raise CounterpaneError(f"{work.piece.title} has no section {row.section}: load the page again.")
    with studio.store.write() as db:
        for row in rows:
            keeping.decide(db, student_id, piece_id, row, now)
    return decisions(studio, student_id, piece_id)


def decided(studio: Studio, student_id: int, work: Work, language: str) -> tuple[Decision, ...]:
    """Return what stands for each section: the teacher's word, else the student's, else the invitation."""
    with studio.store.read() as db:
        rows = keeping.decisions(db, student_id, work.piece_id)
    standing = {one.section: one for one in invitations(work.piece, work.analysis, language=language)}
    for role in ("student", "teacher"):
        for row in rows:
            if row.by_role == role and row.section in standing:
                standing[row.section] = _over(standing[row.section], row)
    return tuple(standing.values())


def _over(before: Decision, row: DecisionRow) -> Decision:
    """Lay a choice over a decision; what it leaves open stays."""
    if row.shape is None and row.touch is None and row.leads is None:
        return before
    return replace(
        before,
        shape=cast(Shape, row.shape or before.shape),
        touch=cast(Touch, row.touch or before.touch),
        leads=cast(Leads, row.leads or before.leads),
        by="teacher" if row.by_role == "teacher" else "student",
    )
