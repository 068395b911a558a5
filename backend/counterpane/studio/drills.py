"""One patch with its ladder, and what the Desk plays from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from counterpane.errors import NotFound
from counterpane.listening.pictures_history import AttemptPoint, attempts_over_time
from counterpane.model.piece import GraceNote, Measure, Note, Piece
from counterpane.model.practice import Assignment, Patch
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
    StepProgress,
)
from counterpane.studio.past import History, patch_with
from counterpane.studio.pieces import piece_card

LATEST_ATTEMPTS = 20


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
        notes=tuple(_note(one) for one in piece.notes if first <= one.onset < last),
        graces=tuple(_grace(one) for one in piece.graces if first <= one.onset < last),
        over_time=_over_time(past, assigned, rows),
    )


def _measures(piece: Piece, patch: Patch) -> tuple[Measure, ...]:
    return tuple(one for one in piece.measures if patch.first_measure <= one.number <= patch.last_measure)


def _measure(one: Measure) -> DrillMeasure:
    return DrillMeasure(
        one.id, one.number, float(one.onset), float(one.length), one.beats, one.beat_unit, float(one.padding)
    )


def _note(one: Note) -> DrillNote:
    return DrillNote(
        id=one.id,
        heads=one.heads or (one.id,),
        hand=one.hand,
        midi=one.midi,
        onset=float(one.onset),
        duration=float(one.duration),
        ornaments=one.ornaments,
    )


def _grace(one: GraceNote) -> DrillGrace:
    return DrillGrace(one.id, one.hand, one.pitch.midi, one.principal, one.slashed)


def _rows(past: History, assigned: Assignment, patch: Patch) -> list[AttemptRow]:
    """Return the attempts that count for a patch, oldest first."""
    here = (int(assigned.piece), patch.first_measure, patch.last_measure)
    return [
        row
        for row in past.rows
        if (row.piece_id, row.first_measure, row.last_measure) == here
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


def _progress(unit: Unit) -> Iterable[StepProgress]:
    for step, tally in zip(unit.ladder.steps, unit.standing.tallies, strict=True):
        yield StepProgress(step.id, min(tally.good, step.repetitions), step.repetitions, tally.done)
