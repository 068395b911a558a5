"""The machine-readable answer of `counterpane analyse`: documented, stable, one JSON object a piece.

Places are {"measure", "beat", "offset"}: the measure as printed, the beat counted from 1 in the unit of the
meter's lower figure, the offset in quarters from the start of the first measure. `start` and `end` of a group of
notes are the places of its first and last note.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields
from fractions import Fraction

from counterpane.model.analysis import Analysis
from counterpane.model.piece import Note, Piece, Place
from counterpane.units import pitch_name

Json = dict[str, object]


def analysis_json(piece: Piece, analysis: Analysis) -> Json:
    """Return the analysis as JSON-ready values."""
    return {
        "piece": _piece(piece, analysis),
        "notes": [_note(piece, note) for note in piece.notes],
        "subject": _any(analysis.subject) if analysis.subject else None,
        "no_subject_reason": analysis.no_subject_reason,
        "alternatives": _all(analysis.alternatives),
        "statements": _all(analysis.statements),
        "countersubject": _any(analysis.countersubject) if analysis.countersubject else None,
        "episodes": _all(analysis.episodes),
        "pedal_points": _all(analysis.pedal_points),
        "exchanges": _all(analysis.exchanges),
        "sequences": _all(analysis.sequences),
        "keys": _all(analysis.keys),
        "cadences": _all(analysis.cadences),
        "sections": _all(analysis.sections),
        "count_table": _all(analysis.count_table),
        "comparisons": _all(analysis.comparisons),
        "peak": _any(analysis.peak) if analysis.peak else None,
        "section_peaks": _all(analysis.section_peaks),
        "suggestions": _all(analysis.suggestions),
        "puzzles": _all(analysis.puzzles),
        "warnings": list(analysis.warnings),
    }


def place_json(place: Place) -> Json:
    """Return a place as {"measure", "beat", "offset"}."""
    return {"measure": place.measure, "beat": number_json(place.beat), "offset": number_json(place.offset)}


def number_json(value: Fraction) -> int | float:
    """Return a fraction as a JSON number, whole where it is whole, else to six decimals."""
    return value.numerator if value.denominator == 1 else round(float(value), 6)


def _piece(piece: Piece, analysis: Analysis) -> Json:
    return {
        "title": piece.title,
        "composer": piece.composer,
        "key": analysis.key,
        "meter": piece.meter,
        "measures": len(piece.measures),
        "hands": [hand for hand in ("right", "left") if any(note.hand == hand for note in piece.notes)],
        "voices": list(piece.voices),
        "hands_guessed": piece.hands_guessed,
    }


def _note(piece: Piece, note: Note) -> Json:
    return {
        "id": note.id,
        "hand": note.hand,
        "voice": note.voice,
        "place": place_json(piece.place(note.onset)),
        "duration": number_json(note.duration),
        "pitch": pitch_name(note.pitch),
        "midi": note.midi,
    }


def _all(values: Iterable[object]) -> list[Json]:
    return [_any(value) for value in values]


def _any(value: object) -> Json:
    """Return a dataclass of the model field by field; its own vocabulary is the report's."""
    return {field.name: _value(getattr(value, field.name)) for field in fields(value)}  # type: ignore[arg-type]


def _value(value: object) -> object:
    if isinstance(value, Place):
        return place_json(value)
    if isinstance(value, Fraction):
        return number_json(value)
    if isinstance(value, tuple):
        return [_value(item) for item in value]
    return _any(value) if hasattr(value, "__dataclass_fields__") else value
