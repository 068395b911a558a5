"""The highest note of the piece and of each section, and whether a rising sequence leads to it."""

from __future__ import annotations

from fractions import Fraction

from counterpane.analysis.meter import full_length
from counterpane.analysis.texture import notes_begun
from counterpane.model.analysis import Peak, Section, Sequence
from counterpane.model.piece import Note, Piece
from counterpane.units import pitch_name


def find_peak(piece: Piece, sequences: tuple[Sequence, ...]) -> Peak | None:
    """Return the peak of the piece, or None when it has no notes; of equally high notes the first."""
    return _peak(piece, piece.notes, sequences, None)


def section_peaks(
    piece: Piece, sections: tuple[Section, ...], sequences: tuple[Sequence, ...]
) -> tuple[Peak, ...]:
    """Return the peak of every section that has notes."""
    peaks = (_peak(piece, _notes_of(piece, section), sequences, section.label) for section in sections)
    return tuple(peak for peak in peaks if peak is not None)


def _notes_of(piece: Piece, section: Section) -> tuple[Note, ...]:
    first, last = piece.measure_at(section.start.offset), piece.measure_at(section.end.offset)
    return notes_begun(piece, first.onset, last.end)


def _peak(
    piece: Piece, notes: tuple[Note, ...], sequences: tuple[Sequence, ...], section: str | None
) -> Peak | None:
    if not notes:
        return None
    # A held or repeated top note is one peak: the first of the highest.
    note = max(notes, key=lambda n: (n.midi, -n.onset))
    leading = next((q for q in sequences if _leads(piece, q, note)), None)
    where = f"section {section}" if section else "the piece"
    reason = f"{pitch_name(note.pitch)} is the highest note of {where}"
    if leading:
        reason += f"; a rising sequence of {leading.count} copies leads to it"
    return Peak(
        piece.place(note.onset),
        pitch_name(note.pitch),
        note.hand,
        note.id,
        section,
        leading.id if leading else None,
        f"{reason}.",
    )


def _leads(piece: Piece, sequence: Sequence, note: Note) -> bool:
    """Say whether a rising sequence in the note's hand reaches it, in its last copy or a measure later."""
    if sequence.direction != "rising" or note.hand not in sequence.hands:
        return False
    measure: Fraction = full_length(piece.measure_at(note.onset))
    last_copy = min(piece.by_id[n].onset for n in sequence.copies[-1])
    return last_copy <= note.onset <= sequence.end.offset + measure
