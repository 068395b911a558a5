"""Makes a studio ready before anybody asks: pieces read and analysed, patches cut, puzzles made."""

from __future__ import annotations

import logging
from threading import Thread

from counterpane.store import people
from counterpane.studio.history import history
from counterpane.studio.house import Studio


def make_ready(studio: Studio) -> None:
    """Bring to hand what the students work on, so that the first of them does not wait for it."""
    with studio.store.read() as db:
        students = [row.person.id for row in people.students(db)]
    for student_id in students:
        past = history(studio, student_id)
        for assigned in past.assignments:
            studio.library.puzzles(studio.library.work(int(assigned.piece)), past.language)


def make_ready_meanwhile(studio: Studio) -> Thread:
    """Do the same in a thread of its own; the studio is open at once and only slower until it is done."""

    def ready() -> None:
        try:
            make_ready(studio)
        except Exception:
            # Whoever asks next meets the same fault with a sentence of its own; serving must go on.
            logging.getLogger("counterpane").exception("The studio could not be made ready ahead")

    thread = Thread(target=ready, name="make ready", daemon=True)
    thread.start()
    return thread
