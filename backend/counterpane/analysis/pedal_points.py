"""Pedal points: a tone that stays the lowest or the highest while harmonies change above or below it.

The outermost tone of every beat is followed. A single held note counts from a measure and a half on, a tone that
is struck again from three and a half on; in either case at least four other pitch classes must sound against it,
more than one chord has (common practice, no source, for all three numbers).
"""

from __future__ import annotations

from itertools import groupby

from counterpane.analysis.meter import beats_of, beats_under, full_length
from counterpane.model.analysis import PedalPoint
from counterpane.model.piece import Note, Piece
from counterpane.units import pitch_name

_HELD_MEASURES = 1.5
_STRUCK_MEASURES = 3.5
_PITCH_CLASSES = 4


def find_pedal_points(piece: Piece) -> tuple[PedalPoint, ...]:
    """Return pedal points in time order, of two at once the lower first."""
    beats = beats_of(piece)
    ends = [*beats[1:], float(piece.end)]
    sounding = _by_beat(piece, beats, ends)
    shortest = _HELD_MEASURES * float(min(full_length(measure) for measure in piece.measures))
    found = []
    for place in (0, -1):
        outer = [notes[place].pitch if notes else None for notes in sounding]
        for pitch, rows in groupby(range(len(outer)), key=outer.__getitem__):
            same = list(rows)
            if pitch is not None and ends[same[-1]] - beats[same[0]] >= shortest:
                heard = [note for row in same for note in sounding[row]]
                point = _pedal_point(piece, list(dict.fromkeys(heard)), place)
                if point is not None:
                    found.append(point)
    return tuple(sorted(found, key=lambda point: point.start.offset))


def _by_beat(piece: Piece, beats: list[float], ends: list[float]) -> list[list[Note]]:
    """Return the notes that sound in each beat, from low to high."""
    sounding: list[list[Note]] = [[] for _ in beats]
    for note in sorted(piece.notes, key=lambda note: note.midi):
        for row, _ in beats_under(note, beats, ends):
            sounding[row].append(note)
    return sounding


def _pedal_point(piece: Piece, heard: list[Note], place: int) -> PedalPoint | None:
    """Return the pedal point on the outermost of the notes heard together, None when it is too short or alone."""
    pitch = sorted(heard, key=lambda note: note.midi)[place].pitch
    tone = sorted((note for note in heard if note.pitch == pitch), key=lambda note: note.onset)
    start, end = tone[0].onset, tone[-1].end
    measures = float((end - start) / full_length(piece.measure_at(start)))
    against = {note.midi % 12 for note in heard} - {pitch.midi % 12}
    if measures < (_HELD_MEASURES if len(tone) == 1 else _STRUCK_MEASURES) or len(against) < _PITCH_CLASSES:
        return None
    name = pitch_name(pitch)
    how = "is held" if len(tone) == 1 else f"is struck {len(tone)} times"
    return PedalPoint(
        tone[0].hand,
        piece.place(start),
        piece.place(tone[-1].onset),
        name,
        tuple(note.id for note in tone),
        0.9 if len(tone) == 1 else 0.75,
        f"{name} {how} for {measures:.1f} measures while the harmony changes.",
    )
