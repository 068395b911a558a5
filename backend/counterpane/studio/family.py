"""A family's data: taken away whole, or erased for good; and what was done to people's data."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from counterpane.errors import Conflict
from counterpane.store import audit as audits
from counterpane.store import families, people
from counterpane.store.clock import instant
from counterpane.studio.access import Asker
from counterpane.studio.house import Studio
from counterpane.studio.pages.people import AuditLine


def export(studio: Studio, asker: Asker | None, student_id: int, now: datetime) -> dict[str, Any]:
    """Return everything kept about a student, table by table, with the raw key events of every attempt."""
    with studio.store.write() as db:
        student = people.student(db, student_id)
        audits.record(db, asker.person.id if asker else None, "took data away", f"student {student_id}", now)
    with studio.store.read() as db:
        tables = families.export(db, student_id)
    return {
        "student": {"id": student_id, "nickname": student.person.nickname},
        "exported_at": instant(now),
        "tables": tables,
    }


def erase(studio: Studio, asker: Asker | None, student_id: int, nickname: str, now: datetime) -> None:
    """Erase a student, and parents who look after nobody else in this studio.

    The nickname must be given again (raises `Conflict` otherwise). Deleted rows are overwritten and the
    write-ahead log is emptied, so that nothing can be read back from the studio file; backups are the keeper's.
    """
    with studio.store.write() as db:
        if people.student(db, student_id).person.nickname != nickname:
            raise Conflict("The nickname does not fit this student: type it exactly as it is shown.")
        families.erase(db, student_id)
        by = asker.person.id if asker and asker.person.role == "teacher" else None
        audits.record(db, by, "erased a student", f"student {student_id}", now)
    studio.histories.pop(student_id, None)
    studio.store.forget_history()


def audit(studio: Studio) -> tuple[AuditLine, ...]:
    """Return what was done to people's data, newest first."""
    with studio.store.read() as db:
        return tuple(AuditLine(row.at, row.by, row.action, row.about) for row in audits.newest(db))
