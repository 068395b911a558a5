"""Episodes: the stretches in which no voice states the subject."""

from __future__ import annotations

from fractions import Fraction

from counterpane.analysis.meter import beat_length
from counterpane.analysis.texture import notes_begun
from counterpane.analysis.timeline import Timeline
from counterpane.model.analysis import Episode, Sequence, Statement
from counterpane.model.piece import Piece

_LEAST_BEATS = 2


def find_episodes(
    piece: Piece, statements: tuple[Statement, ...], sequences: tuple[Sequence, ...]
) -> tuple[Episode, ...]:
    """Return what is left between statements, at least two beats long; without statements there is no episode."""
    if not statements:
        return ()
    spans = sorted((s.start.offset, max(piece.by_id[note].end for note in s.notes)) for s in statements)
    gaps, reached = [], spans[0][0]
    for start, end in spans:
        if start > reached:
            gaps.append((reached, start))
        reached = max(reached, end)
    gaps.append((reached, piece.end))
    long = [(a, b) for a, b in gaps if b - a >= _LEAST_BEATS * beat_length(piece.measure_at(a))]
    heard = Timeline((q.start.offset, q.end.offset, q) for q in sequences)
    return tuple(episode for a, b in long if (episode := _episode(piece, a, b, heard)) is not None)


def _episode(piece: Piece, start: Fraction, end: Fraction, sequences: Timeline[Sequence]) -> Episode | None:
    notes = notes_begun(piece, start, end)
    if len({note.onset for note in notes}) < 2:
        return None
    within = (q for q in sequences.touching(start, end) if q.start.offset < end and q.end.offset > start)
    made_of = next(within, None)
    reason = "No voice states the subject here"
    if made_of:
        reason += (
            f"; a {made_of.direction} sequence fills it"
            if made_of.start.offset >= start
            else "; a sequence runs on"
        )
    return Episode(
        piece.place(notes[0].onset), piece.place(notes[-1].onset), tuple(n.id for n in notes), f"{reason}."
    )
