"""A piece as patches, and how each stands."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from counterpane.model.analysis import Section
from counterpane.model.piece import Hands
from counterpane.model.practice import Assignment, Patch, PatchState
from counterpane.practice.units_of_work import Unit, units
from counterpane.studio.history import assignment_for, history
from counterpane.studio.house import Studio
from counterpane.studio.pages.pieces import (
    QuiltPage,
    QuiltPatch,
    QuiltSection,
)
from counterpane.studio.pieces import piece_card


def quilt(studio: Studio, student_id: int, piece_id: int, day: date) -> QuiltPage:
    """Return a piece as patches on `day`, and how each stands."""
    past = history(studio, student_id)
    assigned = assignment_for(studio, past, piece_id)
    found = units([assigned], past.summaries, day, past.ladders)
    work = studio.library.work(piece_id)
    patches = [(unit.patch, _patch(unit)) for unit in found]
    return QuiltPage(
        piece=piece_card(studio, piece_id),
        student_id=student_id,
        goal_tempo=assigned.tempo,
        sections=tuple(_section(section, patches) for section in _sections(work.analysis.sections, assigned)),
        seams=tuple(card for patch, card in patches if patch.kind != "patch"),
        due=tuple(unit.patch.id for unit in found if unit.state == "due"),
    )


def _sections(sections: Iterable[Section], assigned: Assignment) -> tuple[Section, ...]:
    return tuple(one for one in sections if not assigned.sections or one.label in assigned.sections)


def _section(section: Section, patches: Iterable[tuple[Patch, QuiltPatch]]) -> QuiltSection:
    """Return a section with the patches that hold some of it; one may reach over from the section before."""
    return QuiltSection(
        label=section.label,
        kind=section.kind,
        time=section.time,
        key=section.key,
        first_measure=section.first_measure,
        last_measure=section.last_measure,
        patches=tuple(
            card for patch, card in patches if patch.kind == "patch" and section.label in patch.sections
        ),
    )


def _patch(unit: Unit) -> QuiltPatch:
    return QuiltPatch(
        id=unit.patch.id,
        kind=unit.patch.kind,
        first_measure=unit.patch.first_measure,
        last_measure=unit.patch.last_measure,
        difficulty=unit.patch.difficulty.score,
        right=_state_of_hand(unit, "right"),
        left=_state_of_hand(unit, "left"),
        both=_state_of_hand(unit, "both"),
        due=unit.returns.due.isoformat() if unit.returns else None,
        attempts=len(unit.attempts),
    )


def _state_of_hand(unit: Unit, hands: Hands) -> PatchState:
    """Return how one hand (or both together) stands: by the steps of the ladder that this hand plays."""
    if unit.finished:
        return unit.state
    own = {step.id for step in unit.ladder.steps if step.kind == "play" and step.hands == hands}
    tallies = [tally for tally in unit.standing.tallies if tally.step in own]
    if tallies and all(tally.done for tally in tallies):
        return "secure"
    return "in work" if any(attempt.step in own for attempt in unit.attempts) else "new"
