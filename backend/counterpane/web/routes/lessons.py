"""What parents and the teacher read: the log and the lesson brief."""

from __future__ import annotations

from flask import Response

from counterpane.studio import brief as briefing
from counterpane.studio import log as logging
from counterpane.web.asking import EVERYONE, answer, asker, now, open_to, room, studio, whom
from counterpane.web.shapes.bodies import Brief, Log
from counterpane.web.shapes.requests import StudentPath, WeeksQuery

api = room("lessons")


@api.get("/students/<int:student_id>/log", responses={200: Log})
@open_to(*EVERYONE)
def log(path: StudentPath, query: WeeksQuery) -> Response:
    """Return the weeks of practice, what the teacher asked, and how to help."""
    student = whom(path.student_id)
    return answer(Log, logging.log(studio(), student, query.weeks, now()))


@api.get("/students/<int:student_id>/brief", responses={200: Brief})
@open_to("teacher")
def brief(path: StudentPath) -> Response:
    """Return what is weak, with evidence and trend, what was not practised, and a lesson order."""
    return answer(Brief, briefing.brief(studio(), whom(path.student_id), now(), asker().person.language))
