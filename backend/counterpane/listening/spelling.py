"""What to call a key that was struck in place of a written note."""

from __future__ import annotations

from fractions import Fraction

from counterpane.model.piece import Note, Piece

_NATURALS = {0: "C", 2: "D", 4: "E", 5: "F", 7: "G", 9: "A", 11: "B"}
_SHARPS = "FCGDAEB"
"""The order in which signatures add sharps; flats come from the other end."""


def spell(piece: Piece, midi: int, written: Note) -> tuple[str, int]:
    """Return step and alteration of a struck key.

    It is a natural, else a note of the key signature in force, else one on the written step (a sharp forgotten, or
    one too many), else sharp or flat as the signature is.
    """
    if midi % 12 in _NATURALS:
        return _NATURALS[midi % 12], 0
    sharp, flat = (_NATURALS[(midi - 1) % 12], 1), (_NATURALS[(midi + 1) % 12], -1)
    fifths = _signature_at(piece, written.onset)
    for step, alter in (sharp, flat):
        if _alteration(step, fifths) == alter:
            return step, alter
    for step, alter in (sharp, flat):
        if step == written.pitch.step:
            return step, alter
    return flat if fifths < 0 else sharp


def _signature_at(piece: Piece, onset: Fraction) -> int:
    """Return the sharps (or, negative, flats) of the signature in force at an onset; 0 where there is none."""
    in_force = [signature.fifths for signature in piece.key_signatures if signature.onset <= onset]
    return in_force[-1] if in_force else 0


def _alteration(step: str, fifths: int) -> int:
    """Return what a signature does to a step: 1, -1 or 0."""
    if fifths >= 0:
        return int(_SHARPS.index(step) < fifths)
    return -int(_SHARPS[::-1].index(step) < -fifths)
