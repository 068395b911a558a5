"""What a student practises: today, the quilt, drills, puzzles, decisions, the plan."""

from __future__ import annotations

from flask import Response

from counterpane.studio import decisions as deciding
from counterpane.studio import drills as drilling
from counterpane.studio import puzzles as puzzling
from counterpane.studio import quilt as quilting
from counterpane.studio import today as planning
from counterpane.web.asking import EVERYONE, answer, asker, now, open_to, own_piece, room, studio, whom
from counterpane.web.shapes.bodies import Decisions, Drill, Outcome, Plan, Puzzles, Quilt, Today
from counterpane.web.shapes.requests import (
    DaysQuery,
    DecisionsBody,
    PatchPath,
    PiecePath,
    PuzzleAnswerBody,
    PuzzleQuery,
    StudentPath,
    StudentQuery,
    TodayQuery,
)

api = room("practice")


@api.get("/today", responses={200: Today})
@open_to(*EVERYONE)
def today(query: TodayQuery) -> Response:
    """Return what to practise today, and why."""
    student = whom(query.student)
    return answer(Today, planning.today(studio(), student, query.date or now().date()))


@api.get("/students/<int:student_id>/plan", responses={200: Plan})
@open_to("teacher", "parent", "student")
def plan(path: StudentPath, query: DaysQuery) -> Response:
    """Return the coming days, supposing that each is practised as planned."""
    student = whom(path.student_id)
    return answer(Plan, planning.plan(studio(), student, now().date(), query.days))


@api.get("/pieces/<int:piece_id>/quilt", responses={200: Quilt})
@open_to(*EVERYONE)
def quilt(path: PiecePath, query: StudentQuery) -> Response:
    """Return the piece as patches, and how each stands."""
    student = whom(query.student)
    return answer(Quilt, quilting.quilt(studio(), student, own_piece(path.piece_id), now().date()))


@api.get("/pieces/<int:piece_id>/drills/<string:patch_id>", responses={200: Drill})
@open_to(*EVERYONE)
def drill(path: PatchPath, query: StudentQuery) -> Response:
    """Return a patch with its ladder, and the step to take now."""
    student = whom(query.student)
    return answer(Drill, drilling.drill(studio(), student, own_piece(path.piece_id), path.patch_id, now().date()))


@api.get("/pieces/<int:piece_id>/puzzles", responses={200: Puzzles})
@open_to(*EVERYONE)
def puzzles(path: PiecePath, query: PuzzleQuery) -> Response:
    """Return the puzzles of a piece or of one section."""
    student = whom(query.student)
    return answer(Puzzles, puzzling.puzzles(studio(), student, own_piece(path.piece_id), query.section))


@api.post("/puzzle-answers", responses={200: Outcome})
@open_to("student")
def answer_puzzle(body: PuzzleAnswerBody) -> Response:
    """Keep an answer and say whether it is right; sending it twice keeps it once."""
    given = puzzling.GivenAnswer(
        client_id=body.client_id,
        piece_id=own_piece(body.piece_id),
        puzzle_id=body.puzzle_id,
        patch_id=body.patch_id,
        answer=tuple(body.answer) if isinstance(body.answer, list) else body.answer,
        milliseconds=body.milliseconds,
        answered_at=body.answered_at or now(),
    )
    return answer(Outcome, puzzling.record_answer(studio(), whom(None), given))


@api.get("/pieces/<int:piece_id>/decisions", responses={200: Decisions})
@open_to(*EVERYONE)
def decisions(path: PiecePath, query: StudentQuery) -> Response:
    """Return the musical decisions, one a section, beside what the analysis invites."""
    student = whom(query.student)
    return answer(Decisions, deciding.decisions(studio(), student, own_piece(path.piece_id)))


@api.put("/pieces/<int:piece_id>/decisions", responses={200: Decisions})
@open_to("student", "teacher")
def decide(path: PiecePath, query: StudentQuery, body: DecisionsBody) -> Response:
    """Keep decisions; the teacher's word is final."""
    student = whom(query.student)
    chosen = tuple(
        deciding.Choice(section=one.section, shape=one.shape, touch=one.touch, leads=one.leads)
        for one in body.decisions
    )
    return answer(
        Decisions,
        deciding.decide(studio(), asker(), student, own_piece(path.piece_id), chosen, body.made_at or now()),
    )
