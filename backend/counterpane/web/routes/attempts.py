"""Attempts: recorded once, kept for good."""

from __future__ import annotations

from flask import Response

from counterpane.model.practice import Passage
from counterpane.studio import attempts as trying
from counterpane.web.asking import EVERYONE, answer, asker, now, open_to, own_piece, room, studio, whom
from counterpane.web.shapes.bodies import AttemptHeard, AttemptResult, Attempts
from counterpane.web.shapes.requests import AttemptBody, AttemptPath, AttemptsQuery, PiecePath

api = room("attempts")


@api.post("/attempts", responses={200: AttemptResult, 201: AttemptResult})
@open_to("student")
def record(body: AttemptBody) -> Response:
    """Keep an attempt and say what was heard; the same `client_id` again gives the same result with 200."""
    judged = body.self_judgement
    tried = trying.Tried(
        client_id=body.client_id,
        piece_id=own_piece(body.piece_id),
        patch_id=body.patch_id,
        step_id=body.step_id,
        passage=Passage(**body.passage.model_dump()),
        started_at=body.started_at,
        seconds=body.seconds,
        source=body.source,
        raw_events=tuple(body.raw_events),
        self_judgement=(judged.notes, judged.rhythm, judged.flow) if judged else None,
        app_version=body.app_version,
    )
    page = trying.record_attempt(studio(), whom(None), tried, now())
    return answer(AttemptResult, page, 200 if page.repeated else 201)


@api.get("/attempts/<int:attempt_id>", responses={200: AttemptHeard})
@open_to(*EVERYONE)
def attempt(path: AttemptPath) -> Response:
    """Return an attempt with its assessment and its raw key events."""
    return answer(AttemptHeard, trying.attempt_record(studio(), asker(), path.attempt_id))


@api.get("/pieces/<int:piece_id>/attempts", responses={200: Attempts})
@open_to(*EVERYONE)
def attempts(path: PiecePath, query: AttemptsQuery) -> Response:
    """Return a student's attempts on a piece, newest first."""
    student = whom(query.student)
    return answer(Attempts, trying.attempts(studio(), student, own_piece(path.piece_id), query.patch, query.limit))
