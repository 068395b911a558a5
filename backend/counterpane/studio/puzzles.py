"""Puzzles: posed, answered, and remembered, so that the teacher sees which devices a student finds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from counterpane.errors import CounterpaneError, NotFound
from counterpane.model.analysis import Puzzle, Section
from counterpane.model.practice import Level, Patch
from counterpane.store import assignments, people, puzzle_answers
from counterpane.store.puzzle_answers import AnswerRow
from counterpane.studio.house import Studio
from counterpane.studio.pages.pieces import PuzzleCard, PuzzleOutcome


@dataclass(frozen=True)
class GivenAnswer:
    """An answer as the page sends it: note ids that were tapped, a number, or the index of a choice."""

    client_id: str
    piece_id: int
    puzzle_id: str
    answer: tuple[str, ...] | int
    milliseconds: int
    answered_at: datetime
    patch_id: str | None = None


def puzzles(studio: Studio, student_id: int, piece_id: int, section: str | None) -> tuple[PuzzleCard, ...]:
    """Return the puzzles of a piece, or those within one section, the easier ones first."""
    with studio.store.read() as db:
        language = people.student(db, student_id).person.language
        outcomes = puzzle_answers.outcomes(db, student_id, piece_id)
    work = studio.library.work(piece_id)
    sections = work.analysis.sections
    if section is not None and section not in {one.label for one in sections}:
        raise NotFound(f"{work.piece.title} has no section {section}: load the page again.")
    cards = (_card(one, sections, outcomes.get(one.id)) for one in studio.library.puzzles(work, language))
    return tuple(card for card in cards if section is None or card.section == section)


def record_answer(studio: Studio, student_id: int, given: GivenAnswer) -> PuzzleOutcome:
    """Keep an answer once and say whether it is right; the patch that it opens counts as opened."""
    with studio.store.read() as db:
        student = people.student(db, student_id)
    language = student.person.language
    work = studio.library.work(given.piece_id)
    puzzle = next((one for one in studio.library.puzzles(work, language) if one.id == given.puzzle_id), None)
    if puzzle is None:
        raise NotFound(f"{work.piece.title} has no puzzle {given.puzzle_id}: load the puzzles again.")
    right = is_right(puzzle, given.answer)
    with studio.store.write() as db:
        tempo = next(
            (one.goal_tempo for one in assignments.assignments(db, student_id) if one.piece_id == given.piece_id),
            None,
        )
        patches = studio.library.patches(work, cast(Level, student.level), tempo, language)
        row = AnswerRow(
            client_id=given.client_id,
            piece_id=given.piece_id,
            puzzle_id=puzzle.id,
            patch_id=given.patch_id or _opened(patches, puzzle),
            kind=puzzle.kind,
            answer=given.answer,
            right=right,
            milliseconds=given.milliseconds,
            day=given.answered_at.date().isoformat(),
            answered_at=given.answered_at,
        )
        puzzle_answers.add(db, student_id, row)
    return PuzzleOutcome(right, puzzle.answer, puzzle.explanation, puzzle.rests_on)


def is_right(puzzle: Puzzle, answer: tuple[str, ...] | int) -> bool:
    """Say whether an answer is right: one tap in each group and none elsewhere, or the number.

    Raises `CounterpaneError` for taps where a number is asked, and the reverse.
    """
    taps = puzzle.kind.startswith("tap")
    if taps != isinstance(answer, tuple):
        wanted = "ids of the tapped notes" if taps else "a number"
        raise CounterpaneError(f"This puzzle is answered with {wanted}: send that as the answer.")
    if isinstance(answer, int):
        return answer == puzzle.answer
    groups = list(puzzle.groups)
    for tapped in answer:
        hit = next((group for group in groups if tapped in group), None)
        if hit is None:
            return False
        groups.remove(hit)
    return not groups


def _opened(patches: Iterable[Patch], puzzle: Puzzle) -> str | None:
    """Return the first patch that holds all measures a puzzle is about."""
    holding = (
        one.id
        for one in patches
        if one.kind == "patch"
        and one.first_measure <= puzzle.first_measure
        and puzzle.last_measure <= one.last_measure
    )
    return next(holding, None)


def _card(puzzle: Puzzle, sections: Iterable[Section], answered: bool | None) -> PuzzleCard:
    section = next(
        (
            one.label
            for one in sections
            if one.first_measure <= puzzle.first_measure and puzzle.last_measure <= one.last_measure
        ),
        None,
    )
    return PuzzleCard(
        id=puzzle.id,
        section=section,
        level=puzzle.level,
        kind=puzzle.kind,
        question=puzzle.question,
        choices=puzzle.choices,
        answer=puzzle.answer,
        groups=puzzle.groups,
        hint=puzzle.hint,
        explanation=puzzle.explanation,
        first_measure=puzzle.first_measure,
        last_measure=puzzle.last_measure,
        side_by_side=puzzle.side_by_side,
        answered=answered,
    )
