"""What reading gives: the piece, and the notation that shows it under the same ids."""

from __future__ import annotations

from dataclasses import dataclass

from counterpane.model.piece import Piece


@dataclass(frozen=True)
class ScoreDocument:
    """A piece and its normalised MEI; the xml:ids of notes and measures in `mei` are those of `piece`."""

    piece: Piece
    mei: str
