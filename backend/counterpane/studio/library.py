"""Pieces at hand: read, analysed under the teacher's corrections, and cut into patches.

A piece is read again from the stored file when it is first asked for after a start; its analysis is made again
when its corrections have a new revision or the analysis has a new version.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from counterpane.analysis.corrections_json import JsonConflict, corrected
from counterpane.analysis.engine import ENGINE
from counterpane.analysis.puzzles import make_puzzles
from counterpane.analysis.report import analysis_json
from counterpane.model.analysis import Analysis, Puzzle
from counterpane.model.piece import Hands, Piece
from counterpane.model.practice import Level, Mark, Patch
from counterpane.practice.difficulty import goal_tempo
from counterpane.practice.ladders import load_ladders
from counterpane.practice.patches import cut_patches
from counterpane.score import ScoreDocument, read_score_bytes
from counterpane.store import analyses, corrections, pieces
from counterpane.store.database import Store
from counterpane.studio.engraving import engraved
from counterpane.studio.pages.pieces import EngravedPage
from counterpane.studio.recent import Recent

PIECES_AT_HAND = 64
CUTS_AT_HAND = 512
ENGRAVINGS_AT_HAND = 1024
EngravingKey = tuple[int, int | None, int | None, Hands, int, int, tuple[Mark, ...]]


@dataclass(frozen=True)
class Work:
    """A piece in use: its notation, its analysis under a revision of the corrections, and the report as JSON."""

    piece_id: int
    revision: int
    document: ScoreDocument
    analysis: Analysis
    report: str
    conflicts: tuple[JsonConflict, ...]

    @property
    def piece(self) -> Piece:
        """The written piece."""
        return self.document.piece


class Library:
    """Finds pieces by id, and keeps the last ones at hand."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._documents: Recent[int, ScoreDocument] = Recent(PIECES_AT_HAND)
        self._works: Recent[tuple[int, int], Work] = Recent(PIECES_AT_HAND)
        self._puzzles: Recent[tuple[int, int, str], tuple[Puzzle, ...]] = Recent(PIECES_AT_HAND)
        self._engravings: Recent[EngravingKey, EngravedPage] = Recent(ENGRAVINGS_AT_HAND)
        self._cuts: Recent[tuple[int, int, Level, float, str], tuple[Patch, ...]] = Recent(CUTS_AT_HAND)

    def work(self, piece_id: int) -> Work:
        """Return a piece with its newest analysis; raises `NotFound`."""
        with self._store.read() as db:
            pieces.piece(db, piece_id)
            revision = corrections.revision(db, piece_id)
        return self._works.get((piece_id, revision), lambda: self._make(piece_id, revision))

    def document(self, piece_id: int) -> ScoreDocument:
        """Return the notation of a piece; raises `NotFound`."""
        return self._documents.get(piece_id, lambda: self._read(piece_id))

    def patches(self, work: Work, level: Level, tempo: float | None, language: str) -> tuple[Patch, ...]:
        """Return the patches of a piece at a level; `tempo` in quarters a minute, None for its own."""
        goal = goal_tempo(work.piece, tempo)
        key = (work.piece_id, work.revision, level, goal, language)
        ladders = load_ladders(language=language)
        return self._cuts.get(
            key, lambda: cut_patches(work.piece, work.analysis, level, goal, ladders=ladders, language=language)
        )

    def puzzles(self, work: Work, language: str) -> tuple[Puzzle, ...]:
        """Return the puzzles of a piece in a language, the easier ones first."""
        key = (work.piece_id, work.revision, language)
        return self._puzzles.get(key, lambda: make_puzzles(work.piece, work.analysis, language))

    def require(self, piece_id: int) -> None:
        """Raise `NotFound` when there is no such piece."""
        with self._store.read() as db:
            pieces.piece(db, piece_id)

    def goal_tempo(self, piece_id: int) -> float:
        """Return a piece's own tempo, in quarter notes a minute."""
        return goal_tempo(self.document(piece_id).piece)

    def engraved(
        self,
        piece_id: int,
        first: int | None,
        last: int | None,
        hands: Hands,
        width_px: int,
        scale: int,
        marks: tuple[Mark, ...] = (),
    ) -> EngravedPage:
        """Return notation of measures `first` to `last`, `width_px` wide, at a staff size of `scale` percent.

        `marks` are the signs of musical decisions.
        """
        how = (first, last, hands, width_px, scale, marks)
        return self._engravings.get((piece_id, *how), lambda: engraved(self.document(piece_id), *how))

    def _read(self, piece_id: int) -> ScoreDocument:
        with self._store.read() as db:
            row, source = pieces.piece(db, piece_id), pieces.source(db, piece_id)
        return read_score_bytes(source, row.file_name)

    def _make(self, piece_id: int, revision: int) -> Work:
        document = self.document(piece_id)
        with self._store.read() as db:
            number, wanted = corrections.newest(db, piece_id)
            known = analyses.newest(db, piece_id, number)
        analysis, conflicts = corrected(document.piece, None, wanted)
        if known is not None and known.engine == ENGINE:
            return Work(piece_id, revision, document, analysis, known.report, conflicts)
        row = analysis_row(document.piece, analysis, conflicts, revision)
        with self._store.write() as db:
            analyses.keep(db, piece_id, row, datetime.now(UTC))
        return Work(piece_id, revision, document, analysis, row.report, conflicts)


def analysis_row(
    piece: Piece, analysis: Analysis, conflicts: tuple[JsonConflict, ...], revision: int
) -> analyses.AnalysisRow:
    """Return an analysis as it is kept."""
    report: dict[str, Any] = analysis_json(piece, analysis)
    kept = tuple({"correction": one.correction, "text": one.text} for one in conflicts)
    return analyses.AnalysisRow(ENGINE, revision, analysis.key, json.dumps(report, separators=(",", ":")), kept)
