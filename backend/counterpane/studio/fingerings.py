"""A fingering for a piece: the teacher's own fingers, and a proposal for all other notes."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from counterpane.errors import CounterpaneError
from counterpane.model.piece import HANDS, Hand, Piece
from counterpane.practice.fingering import propose
from counterpane.store import audit
from counterpane.store import fingerings as keeping
from counterpane.studio.access import Asker
from counterpane.studio.house import Studio
from counterpane.studio.pages.pieces import FingeringPage


def fingering(studio: Studio, piece_id: int) -> FingeringPage:
    """Return a finger for every note, and which of them are the teacher's.

    Fingers on notes that a newer reading of the file no longer has are left out.
    """
    piece = studio.library.work(piece_id).piece
    with studio.store.read() as db:
        written = keeping.written(db, piece_id)
    own = {note: finger for note, finger in written.items() if note in piece.by_id}
    fingers = {
        note: finger for hand in HANDS for note, finger in propose(piece, hand, _of(piece, hand, own)).items()
    }
    return FingeringPage(fingers, tuple(own))


def write_fingering(
    studio: Studio, asker: Asker, piece_id: int, fingers: Mapping[str, int], now: datetime
) -> FingeringPage:
    """Replace the teacher's fingers; raises `CounterpaneError` for a note that the piece does not have."""
    piece = studio.library.work(piece_id).piece
    unknown = next((note for note in fingers if note not in piece.by_id), None)
    if unknown is not None:
        raise CounterpaneError(f"{piece.title} has no note {unknown}: load the page again.")
    with studio.store.write() as db:
        keeping.write(db, piece_id, fingers, now)
        audit.record(db, asker.person.id, "wrote a fingering", f"piece {piece_id}", now)
    return fingering(studio, piece_id)


def _of(piece: Piece, hand: Hand, fingers: Mapping[str, int]) -> dict[str, int]:
    return {note: finger for note, finger in fingers.items() if piece.by_id[note].hand == hand}
