"""Pieces: brought in, listed, engraved, printed."""

from __future__ import annotations

import json
from datetime import datetime

from counterpane.analysis.corrections_json import corrected
from counterpane.errors import Conflict
from counterpane.model.piece import Hands
from counterpane.score import read_score_bytes
from counterpane.store import analyses, assignments, audit, pieces
from counterpane.studio.access import Asker
from counterpane.studio.cards import piece_card as card_of
from counterpane.studio.decisions import decisions
from counterpane.studio.house import Studio
from counterpane.studio.library import analysis_row
from counterpane.studio.pages.lesson import SheetPage
from counterpane.studio.pages.pieces import EngravedPage, PieceCard

USUAL_SCALE = 40
SHEET_SCALE = 30
SHEET_WIDTH_PX = 760


def import_piece(
    studio: Studio, data: bytes, file_name: str, now: datetime, asker: Asker | None = None
) -> PieceCard:
    """Read a score file, analyse it, and keep the file, the notation and the analysis.

    The same file again gives the piece that is here already. Raises `ScoreError` with one sentence; nothing is
    kept then.
    """
    document = read_score_bytes(data, file_name)
    piece = document.piece
    with studio.store.read() as db:
        known = pieces.by_source(db, piece.source_hash)
    if known is not None:
        return piece_card(studio, known.id)
    analysis, conflicts = corrected(piece, None, [])
    row = analysis_row(piece, analysis, conflicts, revision=0)
    new = pieces.NewPiece(
        title=piece.title,
        composer=piece.composer,
        meter=piece.meter,
        measures=len(piece.measures),
        tempo=piece.tempo,
        hands_guessed=piece.hands_guessed,
        warnings=(*piece.warnings, *(one for one in analysis.warnings if one not in piece.warnings)),
        file_name=file_name,
        source=data,
        source_hash=piece.source_hash,
        mei=document.mei,
    )
    with studio.store.write() as db:
        piece_id = pieces.add(db, new, now)
        analyses.keep(db, piece_id, row, now)
        audit.record(db, asker.person.id if asker else None, "brought a piece in", f"piece {piece_id}", now)
    return piece_card(studio, piece_id)


def pieces_for(studio: Studio, asker: Asker) -> tuple[PieceCard, ...]:
    """Return all pieces for the teacher; for others what is or was assigned to them or their children."""
    with studio.store.read() as db:
        rows, keys = pieces.pieces(db), analyses.keys(db)
        if asker.person.role != "teacher":
            own = assignments.pieces_of(db, tuple(student.id for student in asker.students))
            rows = tuple(row for row in rows if row.id in own)
    return tuple(card_of(row, keys.get(row.id, "")) for row in rows)


def piece_card(studio: Studio, piece_id: int) -> PieceCard:
    """Return one piece; raises `NotFound`."""
    with studio.store.read() as db:
        return card_of(pieces.piece(db, piece_id), analyses.key(db, piece_id))


def remove_piece(studio: Studio, asker: Asker | None, piece_id: int, now: datetime) -> None:
    """Take a piece out; raises `Conflict` when somebody worked on it, since the log must stay whole."""
    with studio.store.write() as db:
        title = pieces.piece(db, piece_id).title
        if pieces.is_in_use(db, piece_id):
            raise Conflict(f"{title} was assigned or practised: it stays, so that the log stays whole.")
        pieces.remove(db, piece_id)
        audit.record(db, asker.person.id if asker else None, "took a piece out", f"piece {piece_id}", now)


def analysis_text(studio: Studio, piece_id: int) -> str:
    """Return the analysis under the newest corrections as JSON text."""
    return studio.library.work(piece_id).report


def engraving(
    studio: Studio,
    piece_id: int,
    first: int | None,
    last: int | None,
    hands: Hands,
    width_px: int,
    size_percent: int,
    student_id: int | None,
) -> EngravedPage:
    """Return measures `first` to `last` as notation `width_px` wide; 100 percent is the usual size for a phone.

    With a student, the decisions that were made for the piece are written into the score.
    """
    studio.library.require(piece_id)
    scale = max(10, round(USUAL_SCALE * size_percent / 100))
    marks = decisions(studio, student_id, piece_id).marks if student_id is not None else ()
    return studio.library.engraved(piece_id, first, last, hands, width_px, scale, marks)


def sheet(studio: Studio, piece_id: int) -> SheetPage:
    """Return the printed analysis sheet's data: the whole piece engraved for paper, and the analysis."""
    work = studio.library.work(piece_id)
    paper = studio.library.engraved(piece_id, None, None, "both", SHEET_WIDTH_PX, SHEET_SCALE)
    return SheetPage(piece_card(studio, piece_id), paper.svgs, json.loads(work.report))
