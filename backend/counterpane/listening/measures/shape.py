"""The JSON-ready form that all measures share.

Every measure is a dict with `value` (its one headline number, or None), `unit`, `reason` (one sentence when
there is no value, else None), `notes` (how many notes or intervals it rests on), and what the measure adds.
"""

from __future__ import annotations

from collections.abc import Mapping

from counterpane.model.piece import Place

Measured = dict[str, object]
# What says where: it is looked up again, and a third of a quarter rounded is no place in the score.
_EXACT = ("beat", "offset")


def measured(value: float | None, unit: str, notes: int, **more: object) -> Measured:
    """Return a measure that could be taken; numbers are rounded to three decimals, places stay exact."""
    return {"value": _rounded(value), "unit": unit, "reason": None, "notes": notes} | {
        key: _rounded(item) for key, item in more.items()
    }


def unmeasured(unit: str, reason: str, notes: int = 0, **more: object) -> Measured:
    """Return a measure that could not be taken, and the sentence that says why."""
    return measured(None, unit, notes, **more) | {"reason": reason}


def place_json(place: Place) -> dict[str, float]:
    """Return a place as {"measure", "beat", "offset"}: beat from 1, offset in quarter notes."""
    return {"measure": place.measure, "beat": float(place.beat), "offset": float(place.offset)}


def onset_at(row: Mapping[str, object], key: str) -> float:
    """Return the written onset (quarters) of the place that a measure's row holds under `key`."""
    place = row[key]
    assert isinstance(place, Mapping)
    return float(place["offset"])


def _rounded(value: object) -> object:
    if isinstance(value, float):
        return round(value, 3)
    if isinstance(value, Mapping):
        return {key: item if key in _EXACT else _rounded(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(item) for item in value]
    return value
