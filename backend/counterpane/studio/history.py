"""A student's history, read from the studio file once and then only added to."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from counterpane.model.practice import Assignment, Level
from counterpane.practice.ladders import load_ladders
from counterpane.store import assignments, attempts, corrections, people, puzzle_answers
from counterpane.store.attempts import AttemptRow
from counterpane.store.database import Db
from counterpane.store.puzzle_answers import OpenedPatch
from counterpane.studio.house import Studio
from counterpane.studio.past import History, Kept, counted_for, summaries, summary

HISTORIES_AT_HAND = 256


def history(studio: Studio, student_id: int) -> History:
    """Return a student's assignments and attempts; raises `NotFound`.

    The last one made is kept at hand, and what was added since is added to it.
    """
    with studio.store.read() as db:
        student = people.student(db, student_id)
        assigned = assignments.assignments(db, student_id)
        revisions = tuple(corrections.revision(db, one.piece_id) for one in assigned)
        changes = attempts.changes(db, student_id)
        made_for = (student, assigned, revisions)
        kept = studio.histories.get(student_id)
        if kept is not None and (kept.made_for, kept.changes) == (made_for, changes):
            return kept.history
        opened = puzzle_answers.opened(db, student_id)
        longer = _longer(db, kept, changes, opened) if kept and kept.made_for == made_for else None
        rows = () if longer else attempts.of_student(db, student_id)
    made = longer or _history(studio, student, assigned, rows, opened)
    _keep(studio.histories, student_id, Kept(made_for, changes, opened, made))
    return made


def _keep(histories: dict[int, Kept], student_id: int, kept: Kept) -> None:
    """Keep a history at hand; the ones made longest ago go when there are too many."""
    histories.pop(student_id, None)
    histories[student_id] = kept
    for oldest in list(histories)[:-HISTORIES_AT_HAND]:
        histories.pop(oldest, None)


def _longer(db: Db, kept: Kept, changes: int, opened: tuple[OpenedPatch, ...]) -> History | None:
    """Return a kept history with the attempts that were added since, None when more than that was changed.

    Each attempt counts one change and its assessment another; anything else (an answer, an older attempt that
    was heard again) leaves a rest, and then everything is read anew.
    """
    before = kept.history
    new = attempts.of_student(db, before.student.person.id, after=max((row.id for row in before.rows), default=0))
    if opened != kept.opened or changes - kept.changes != sum(1 + (row.engine is not None) for row in new):
        return None
    by_piece = {one.piece: one for one in before.assignments}
    rows = sorted((*before.rows, *new), key=lambda row: (row.started_at, row.id))
    last_puzzle = max((one.answered_at for one in opened), default="")
    if rows[: len(before.rows)] != list(before.rows) or any(row.started_at < last_puzzle for row in new):
        return None
    added = tuple(summary(row, counted_for(row, by_piece)) for row in new)
    return replace(before, rows=tuple(rows), summaries=(*before.summaries, *added))


def _history(
    studio: Studio,
    student: people.StudentRow,
    assigned: tuple[assignments.AssignmentRow, ...],
    rows: tuple[AttemptRow, ...],
    opened: tuple[OpenedPatch, ...],
) -> History:
    level, language = cast(Level, student.level), student.person.language
    made = tuple(_assignment(studio, one, level, language) for one in assigned)
    ladders = load_ladders(language=language)
    return History(student, level, language, ladders, made, rows, summaries(rows, opened, made, ladders))


def assignment_for(studio: Studio, past: History, piece_id: int) -> Assignment:
    """Return the assignment of a piece, or one made up for a piece that is only looked at."""
    found = past.assignment(piece_id)
    if found is not None:
        return found
    own_tempo = studio.library.goal_tempo(piece_id)
    return _assignment(studio, assignments.AssignmentRow(piece_id, (), own_tempo), past.level, past.language)


def _assignment(studio: Studio, row: assignments.AssignmentRow, level: Level, language: str) -> Assignment:
    work = studio.library.work(row.piece_id)
    return Assignment(
        piece=str(row.piece_id),
        title=work.piece.title,
        patches=studio.library.patches(work, level, row.goal_tempo, language),
        level=level,
        tempo=row.goal_tempo,
        sections=row.sections,
    )
