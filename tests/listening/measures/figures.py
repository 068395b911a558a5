"""Looking inside a measure: its JSON-ready form promises no more than `object` under each name."""

from __future__ import annotations

from typing import Any


def number(found: object) -> float:
    """Return a figure that is to be compared; None and words are none."""
    assert isinstance(found, int | float)
    return found


def part(found: object) -> dict[str, Any]:
    """Return the object under a name, such as `by_hand`."""
    assert isinstance(found, dict)
    return found


def rows(found: object) -> list[dict[str, Any]]:
    """Return the objects under a name, such as the places of all hesitations."""
    assert isinstance(found, list)
    return found
