"""A family's data as a whole: taken away, or erased for good."""

from __future__ import annotations

import json
from typing import Any

from counterpane.store.attempts import raw_events
from counterpane.store.database import Db
from counterpane.store.packing import unpack_report

# Every table that holds something about a student, and the column that says about whom. A test holds this
# against the schema, so that a new table cannot be forgotten here.
ABOUT_STUDENT = {
    "person": "id",
    "student": "person_id",
    "guardian": "student_id",
    "link": "person_id",
    "session": "person_id",
    "assignment": "student_id",
    "note": "student_id",
    "attempt": "student_id",
    "puzzle_answer": "student_id",
    "decision": "student_id",
    "pairing": "person_id",
}
_SECRET = {"token_hash", "pin_hash", "secret_hash"}


def export(db: Db, student_id: int) -> dict[str, Any]:
    """Return everything kept about a student, table by table; hashes of secrets are left out."""
    tables = {table: _about(db, table, column, student_id) for table, column in ABOUT_STUDENT.items()}
    for attempt in tables["attempt"]:
        attempt["raw_events"] = raw_events(db, attempt["id"])
        attempt["assessments"] = [
            _plain(dict(row))
            | {"report": unpack_report(row["report"]), "pictures": unpack_report(row["pictures"])}
            for row in db.execute("SELECT * FROM assessment WHERE attempt_id = ?", (attempt["id"],))
        ]
    return tables


def erase(db: Db, student_id: int) -> None:
    """Delete a student and everything about them, and parents who look after nobody else."""
    parents = [row[0] for row in db.execute("SELECT parent_id FROM guardian WHERE student_id = ?", (student_id,))]
    db.execute("DELETE FROM person WHERE id = ?", (student_id,))
    for parent_id in parents:
        db.execute(
            "DELETE FROM person WHERE id = ? AND NOT EXISTS (SELECT 1 FROM guardian WHERE parent_id = person.id)",
            (parent_id,),
        )


def _about(db: Db, table: str, column: str, student_id: int) -> list[dict[str, Any]]:
    rows = db.execute(f"SELECT * FROM {table} WHERE {column} = ?", (student_id,))  # noqa: S608 - names from above
    return [_plain(dict(row)) for row in rows]


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    """Return a row as JSON can hold it."""
    kept = {name: value for name, value in row.items() if name not in _SECRET and not isinstance(value, bytes)}
    for name in ("rest_days", "sections", "self_judgement", "answer", "findings"):
        if isinstance(kept.get(name), str):
            kept[name] = json.loads(kept[name])
    return kept
