"""Who may see and do what: a student their own, a parent their children's, the teacher everything.

Somebody who may not see a student or a piece hears the same whether it exists or not.
"""

from __future__ import annotations

from dataclasses import dataclass

from counterpane.errors import CounterpaneError, NotAllowed
from counterpane.store import assignments, people, pieces
from counterpane.store.database import Store
from counterpane.studio.pages.people import PersonCard, PinState


@dataclass(frozen=True)
class Asker:
    """The signed-in person. `students` are the student alone, or a parent's children, and empty for the teacher.

    `session` is the digest of the session's token, `csrf` the token that every write has to carry.
    """

    person: PersonCard
    students: tuple[PersonCard, ...]
    session: str
    csrf: str
    link_id: int | None
    pin: PinState
    care_seen: bool


def whom(store: Store, asker: Asker, asked: int | None) -> int:
    """Return the id of the student that a request is about; raises where the asker may not ask that."""
    own = [student.id for student in asker.students]
    if asked is None:
        if len(own) == 1:
            return own[0]
        raise CounterpaneError("Say which student this is about: add ?student= and the student's number.")
    if asker.person.role == "teacher":
        with store.read() as db:
            return people.student(db, asked).person.id
    if asked not in own:
        raise NotAllowed("You may not see this student.")
    return asked


def require_piece(store: Store, asker: Asker, piece_id: int) -> None:
    """Raise unless the asker may see a piece: the teacher all, others what is or was assigned."""
    with store.read() as db:
        if asker.person.role == "teacher":
            pieces.piece(db, piece_id)
        elif piece_id not in assignments.pieces_of(db, tuple(student.id for student in asker.students)):
            raise NotAllowed("You may not see this piece: ask your teacher to assign it.")
