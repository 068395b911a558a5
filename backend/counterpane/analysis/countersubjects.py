"""The countersubject: what goes with the subject at least twice.

Against every whole statement the notes of each other voice are taken as moves in scale steps at their time from
the statement's start. Accompaniments belong together when most of their moves agree; the largest group is the
countersubject.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from counterpane.analysis.texture import notes_begun
from counterpane.model.analysis import Countersubject, Statement
from counterpane.model.piece import Piece

_LEAST_MOVES = 4
_ALIKE = 0.7
_MOST_STATEMENTS = 120


@dataclass(frozen=True)
class _Company:
    """What one voice has against one statement: ids, and its moves (time of the second note, steps, mirrored)."""

    notes: tuple[str, ...]
    moves: frozenset[tuple[Fraction, int]]


def find_countersubject(piece: Piece, statements: tuple[Statement, ...]) -> Countersubject | None:
    """Return the countersubject of `piece`, or None when nothing goes with the subject twice."""
    stating = {note for statement in statements for note in statement.notes}
    companies = [
        company
        for statement in statements[:_MOST_STATEMENTS]
        if statement.extent == "complete"
        for voice in piece.voices
        if voice != statement.voice and (company := _company(piece, statement, voice, stating))
    ]
    group = max(([b for b in companies if _alike(a, b)] for a in companies), key=len, default=[])
    if len(group) < 2:
        return None
    share = len(group) / max(1, sum(statement.extent == "complete" for statement in statements))
    return Countersubject(
        tuple(company.notes for company in group),
        round(min(0.95, 0.5 + share), 2),
        f"The same line goes with the subject {len(group)} times.",
    )


def _company(piece: Piece, statement: Statement, voice: int, stating: set[str]) -> _Company | None:
    during = notes_begun(piece, statement.start.offset, statement.end.offset)
    notes = [note for note in during if note.voice == voice]
    free = [note for note in notes if note.id not in stating]
    if 2 * len(free) < len(notes) or len(notes) <= _LEAST_MOVES:
        return None
    way = -1 if statement.form == "inverted" else 1
    moves = frozenset(
        (b.onset - statement.start.offset, way * (b.pitch.diatonic - a.pitch.diatonic)) for a, b in pairwise(notes)
    )
    # A run of equal steps goes with anything: it names no countersubject.
    return _Company(tuple(n.id for n in notes), moves) if len({step for _, step in moves}) > 1 else None


def _alike(one: _Company, other: _Company) -> bool:
    return len(one.moves & other.moves) >= _ALIKE * max(len(one.moves), len(other.moves))
