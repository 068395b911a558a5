"""A family's data: taken away, erased; and the record of what was done to people's data."""

from __future__ import annotations

from flask import Response, jsonify

from counterpane.studio import family as keeping
from counterpane.web.asking import answer, asker, done, now, open_to, room, studio, whom
from counterpane.web.shapes.bodies import Audit, ExportedFamily
from counterpane.web.shapes.requests import EraseBody, StudentPath

api = room("family")


@api.get("/students/<int:student_id>/export", responses={200: ExportedFamily})
@open_to("teacher", "parent")
def export(path: StudentPath) -> Response:
    """Return everything that is kept about a student, to take away."""
    student = whom(path.student_id)
    response = jsonify(keeping.export(studio(), asker(), student, now()))
    response.headers["Content-Disposition"] = f'attachment; filename="counterpane-student-{student}.json"'
    return response


@api.post("/students/<int:student_id>/erase", responses={204: None})
@open_to("teacher", "parent")
def erase(path: StudentPath, body: EraseBody) -> Response:
    """Erase a student and everything that is kept about them, for good."""
    student = whom(path.student_id)
    keeping.erase(studio(), asker(), student, body.nickname, now())
    return done()


@api.get("/audit", responses={200: Audit})
@open_to("teacher")
def audit() -> Response:
    """Return what was done to people's data, newest first."""
    return answer(Audit, keeping.audit(studio()))
