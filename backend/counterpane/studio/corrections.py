"""The teacher's corrections of an analysis: kept as a layer, laid over every newer analysis."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from counterpane.analysis.corrections_json import corrected
from counterpane.store import analyses, audit
from counterpane.store import corrections as keeping
from counterpane.studio.access import Asker
from counterpane.studio.house import Studio
from counterpane.studio.library import analysis_row


def corrections(studio: Studio, piece_id: int) -> dict[str, Any]:
    """Return the corrections of a piece, and where the present analysis contradicts them."""
    work = studio.library.work(piece_id)
    with studio.store.read() as db:
        _, wanted = keeping.newest(db, piece_id)
    conflicts = [{"correction": one.correction, "text": one.text} for one in work.conflicts]
    return {"corrections": wanted, "conflicts": conflicts}


def correct(
    studio: Studio, asker: Asker | None, piece_id: int, wanted: list[dict[str, Any]], now: datetime
) -> None:
    """Replace the corrections of a piece; raises `AnalysisError` for one that makes no sense."""
    work = studio.library.work(piece_id)
    analysis, conflicts = corrected(work.piece, None, wanted)
    with studio.store.write() as db:
        revision = keeping.add(db, piece_id, wanted, now)
        analyses.keep(db, piece_id, analysis_row(work.piece, analysis, conflicts, revision), now)
        audit.record(db, asker.person.id if asker else None, "corrected an analysis", f"piece {piece_id}", now)
