"""Students and what they work on."""

from __future__ import annotations

from flask import Response

from counterpane.studio import people
from counterpane.web.asking import EVERYONE, answer, asker, now, open_to, room, studio, whom
from counterpane.web.shapes.bodies import Assignments, Student, Students
from counterpane.web.shapes.requests import (
    AssignmentsBody,
    NewStudentBody,
    StudentChangeBody,
    StudentPath,
)

api = room("students")


@api.get("/students", responses={200: Students})
@open_to("teacher", "parent")
def students() -> Response:
    """Return the students the asker may see: all for the teacher, their own children for a parent."""
    return answer(Students, people.students_for(studio(), asker(), now()))


@api.post("/students", responses={201: Student})
@open_to("teacher")
def add_student(body: NewStudentBody) -> Response:
    """Take a student into the studio: a nickname is all that is asked."""
    new = people.NewStudent(**body.model_dump())
    return answer(Student, people.add_student(studio(), asker(), new, now()), 201)


@api.get("/students/<int:student_id>", responses={200: Student})
@open_to(*EVERYONE)
def student(path: StudentPath) -> Response:
    """Return one student."""
    return answer(Student, people.student_card(studio(), whom(path.student_id), now()))


@api.patch("/students/<int:student_id>", responses={200: Student})
@open_to("teacher")
def change_student(path: StudentPath, body: StudentChangeBody) -> Response:
    """Change how a student practises, or what is asked of them this week."""
    change = body.model_dump(exclude_unset=True)
    return answer(Student, people.change_student(studio(), asker(), path.student_id, change, now()))


@api.get("/students/<int:student_id>/assignments", responses={200: Assignments})
@open_to(*EVERYONE)
def assignments(path: StudentPath) -> Response:
    """Return the pieces a student works on."""
    return answer(Assignments, people.assignments(studio(), whom(path.student_id)))


@api.put("/students/<int:student_id>/assignments", responses={200: Assignments})
@open_to("teacher")
def assign(path: StudentPath, body: AssignmentsBody) -> Response:
    """Say which pieces a student works on; the list replaces the earlier one, attempts stay."""
    wanted = tuple(
        people.Assigned(piece_id=one.piece_id, sections=tuple(one.sections), goal_tempo=one.goal_tempo)
        for one in body.root
    )
    return answer(Assignments, people.assign(studio(), asker(), path.student_id, wanted, now()))
