"""Pedal points: a tone held or struck again and again in one voice while the others move.

A tone counts when it fills at least a measure and a half (common practice, no source) and at least two
different harmonies' worth of other notes sound against it: four onsets and three pitch classes.
"""

from __future__ import annotations

from itertools import groupby

from counterpane.analysis.meter import full_length
from counterpane.analysis.texture import notes_begun
from counterpane.model.analysis import PedalPoint
from counterpane.model.piece import Note, Piece
from counterpane.units import pitch_name

_MEASURES = 1.5
_ONSETS = 4
_PITCH_CLASSES = 3


def find_pedal_points(piece: Piece) -> tuple[PedalPoint, ...]:
    """Return pedal points in time order."""
    found = []
    shortest = float(_MEASURES * min(full_length(measure) for measure in piece.measures))
    for voice in piece.voices:
        for _, same in groupby(piece.voice_notes(voice), key=lambda note: note.pitch):
            tone = list(same)
            long_enough = float(tone[-1].end) - float(tone[0].onset) >= shortest
            if long_enough and (point := _pedal_point(piece, tone)) is not None:
                found.append(point)
    return tuple(sorted(found, key=lambda point: (point.start.offset, point.hand)))


def _pedal_point(piece: Piece, tone: list[Note]) -> PedalPoint | None:
    start, end = tone[0].onset, tone[-1].end
    measure = full_length(piece.measure_at(start))
    if end - start < _MEASURES * measure or sum(note.duration for note in tone) < _MEASURES * measure * 2 / 3:
        return None
    against = [note for note in notes_begun(piece, start, end) if note.voice != tone[0].voice]
    classes = {note.midi % 12 for note in against}
    if len({note.onset for note in against}) < _ONSETS or len(classes) < _PITCH_CLASSES:
        return None
    name = pitch_name(tone[0].pitch)
    how = "is held" if len(tone) == 1 else f"is struck {len(tone)} times"
    return PedalPoint(
        tone[0].hand,
        piece.place(start),
        piece.place(tone[-1].onset),
        name,
        tuple(note.id for note in tone),
        0.9 if len(tone) == 1 else 0.75,
        f"{name} {how} for {float((end - start) / measure):.1f} measures while the other voices move.",
    )
