"""A piece as patches, and one patch with its ladder."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from counterpane.errors import NotFound
from counterpane.listening.pictures_history import AttemptPoint, attempts_over_time
from counterpane.model.analysis import Section
from counterpane.model.piece import Hands, Measure, Piece
from counterpane.model.practice import Assignment, Patch, PatchState
from counterpane.practice.progress import StepTally
from counterpane.practice.units_of_work import Unit, units
from counterpane.store.attempts import AttemptRow
from counterpane.studio.attempt_cards import attempt_card
from counterpane.studio.history import assignment_for, history
from counterpane.studio.house import Studio
from counterpane.studio.pages.pieces import (
    DrillGrace,
    DrillMeasure,
    DrillNote,
    DrillPage,
    Picture,
    QuiltPage,
    QuiltPatch,
    QuiltSection,
    StepProgress,
)
from counterpane.studio.past import History, patch_with
from counterpane.studio.pieces import piece_card

LATEST_ATTEMPTS = 20


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


def drill(studio: Studio, student_id: int, piece_id: int, patch_id: str, day: date) -> DrillPage:
    """Return a patch with its ladder and what the Desk plays from; raises `NotFound`."""
    past = history(studio, student_id)
    assigned = assignment_for(studio, past, piece_id)
    whole = replace(assigned, sections=())
    unit = next(
        (one for one in units([whole], past.summaries, day, past.ladders) if one.patch.id == patch_id), None
    )
    if unit is None:
        raise NotFound(f"{assigned.title} has no patch {patch_id}: open the quilt and choose one.")
    piece = studio.library.work(piece_id).piece
    shown, rows = _measures(piece, unit.patch), _rows(past, assigned, unit.patch)
    first, last = shown[0].onset, shown[-1].end
    return DrillPage(
        piece=piece_card(studio, piece_id),
        patch=unit.patch,
        ladder=unit.ladder,
        progress=tuple(_progress(unit)),
        current_step_id=unit.standing.step.id,
        goal_tempo=assigned.tempo,
        attempts=tuple(attempt_card(row) for row in reversed(rows[-LATEST_ATTEMPTS:])),
        measures=tuple(_measure(one) for one in shown),
        notes=tuple(
            DrillNote(
                id=note.id,
                heads=note.heads or (note.id,),
                hand=note.hand,
                midi=note.midi,
                onset=float(note.onset),
                duration=float(note.duration),
                ornaments=note.ornaments,
            )
            for note in piece.notes
            if first <= note.onset < last
        ),
        graces=tuple(
            DrillGrace(one.id, one.hand, one.pitch.midi, one.principal, one.slashed)
            for one in piece.graces
            if first <= one.onset < last
        ),
        over_time=_over_time(past, assigned, rows),
    )


def _measures(piece: Piece, patch: Patch) -> tuple[Measure, ...]:
    return tuple(one for one in piece.measures if patch.first_measure <= one.number <= patch.last_measure)


def _measure(one: Measure) -> DrillMeasure:
    return DrillMeasure(
        one.id, one.number, float(one.onset), float(one.length), one.beats, one.beat_unit, float(one.padding)
    )


def _rows(past: History, assigned: Assignment, patch: Patch) -> list[AttemptRow]:
    """Return the attempts that count for a patch, oldest first."""
    return [
        row
        for row in past.rows
        if row.piece_id == int(assigned.piece)
        and patch_with(assigned.patches, row.patch_id, row.first_measure, row.last_measure) == patch
    ]


def _over_time(past: History, assigned: Assignment, rows: list[AttemptRow]) -> Picture | None:
    """Draw the heard attempts with the hands that played last, from the second one on."""
    heard = [row for row in rows if row.accuracy is not None]
    heard = [row for row in heard if row.hands == heard[-1].hands]
    points = [
        AttemptPoint(row.day, row.accuracy, row.evenness_ms, row.tempo / assigned.tempo)
        for row in heard[-LATEST_ATTEMPTS:]
    ]
    drawn = attempts_over_time(points, language=past.language) if len(points) > 1 else None
    return Picture(drawn.kind, drawn.svg, drawn.text) if drawn else None


def _sections(sections: Iterable[Section], assigned: Assignment) -> tuple[Section, ...]:
    return tuple(one for one in sections if not assigned.sections or one.label in assigned.sections)


def _section(section: Section, patches: Iterable[tuple[Patch, QuiltPatch]]) -> QuiltSection:
    """Return a section with the patches that begin in it."""
    return QuiltSection(
        label=section.label,
        kind=section.kind,
        time=section.time,
        key=section.key,
        first_measure=section.first_measure,
        last_measure=section.last_measure,
        patches=tuple(card for patch, card in patches if patch.kind == "patch" and patch.section == section.label),
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
    tallies = [tally for tally in _tallies(unit) if tally.step in own]
    if tallies and all(tally.done for tally in tallies):
        return "secure"
    return "in work" if any(attempt.step in own for attempt in unit.attempts) else "new"


def _tallies(unit: Unit) -> tuple[StepTally, ...]:
    return unit.standing.tallies


def _progress(unit: Unit) -> Iterable[StepProgress]:
    for step, tally in zip(unit.ladder.steps, _tallies(unit), strict=True):
        yield StepProgress(step.id, min(tally.good, step.repetitions), step.repetitions, tally.done)
