"""The highest note of the piece and of each section, and whether a rising sequence leads to it."""

from __future__ import annotations

from counterpane.analysis.meter import full_length
from counterpane.analysis.texture import notes_begun
from counterpane.analysis.timeline import Timeline
from counterpane.model.analysis import Peak, Section, Sequence
from counterpane.model.piece import Note, Piece
from counterpane.units import pitch_name


def find_peak(piece: Piece, sequences: tuple[Sequence, ...]) -> Peak | None:
    """Return the peak of the piece, or None when it has no notes; of equally high notes the first."""
    return _peak(piece, piece.notes, _last_copies(piece, sequences), None)


def section_peaks(
    piece: Piece, sections: tuple[Section, ...], sequences: tuple[Sequence, ...]
) -> tuple[Peak, ...]:
    """Return the peak of every section that has notes."""
    rising = _last_copies(piece, sequences)
    peaks = (_peak(piece, _notes_of(piece, section), rising, section.label) for section in sections)
    return tuple(peak for peak in peaks if peak is not None)


def _notes_of(piece: Piece, section: Section) -> tuple[Note, ...]:
    first, last = piece.measure_at(section.start.offset), piece.measure_at(section.end.offset)
    return notes_begun(piece, first.onset, last.end)


def _last_copies(piece: Piece, sequences: tuple[Sequence, ...]) -> Timeline[Sequence]:
    """Return the rising sequences, each at the time of its last copy."""
    return Timeline(
        (min(piece.by_id[note].onset for note in sequence.copies[-1]), sequence.end.offset, sequence)
        for sequence in sequences
        if sequence.direction == "rising"
    )


def _peak(piece: Piece, notes: tuple[Note, ...], rising: Timeline[Sequence], section: str | None) -> Peak | None:
    if not notes:
        return None
    # A held or repeated top note is one peak: the first of the highest.
    note = max(notes, key=lambda n: (n.midi, -n.onset))
    leading = _leading(piece, rising, note)
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


def _leading(piece: Piece, rising: Timeline[Sequence], note: Note) -> Sequence | None:
    """Return the first sequence in the note's hand that reaches it, in its last copy or up to a measure later."""
    reaching = rising.touching(note.onset - full_length(piece.measure_at(note.onset)), note.onset)
    return next((sequence for sequence in reaching if note.hand in sequence.hands), None)
