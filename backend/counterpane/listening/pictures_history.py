"""Attempts at one patch over time: three small rows under each other, one dot an attempt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from counterpane.listening.pictures import Picture
from counterpane.listening.pictures_drawing import MARGIN, WIDTH, Drawing, across, upward
from counterpane.listening.wording import Wording, load_wording

_ROW = 62.0
_TOP = 18.0


@dataclass(frozen=True, slots=True)
class AttemptPoint:
    """One attempt as it is drawn: a short label (its day), shares (1 is all), milliseconds; None if unknown."""

    label: str
    accuracy: float | None
    evenness_ms: float | None
    tempo_share: float | None


@dataclass(frozen=True)
class _Row:
    name: str
    value: Callable[[AttemptPoint], float | None]
    show: Callable[[float], str]


_ROWS = (
    _Row("accuracy", lambda point: point.accuracy, lambda value: f"{100 * value:.0f} %"),
    _Row("evenness", lambda point: point.evenness_ms, lambda value: f"{value:.0f} ms"),
    _Row("tempo_share", lambda point: point.tempo_share, lambda value: f"{100 * value:.0f} %"),
)


def attempts_over_time(points: Sequence[AttemptPoint], *, language: str = "en") -> Picture | None:
    """Return the picture of a patch's attempts in order, or None when nothing was measured in any of them."""
    wording = load_wording(language)
    rows = [(row, _measured(points, row)) for row in _ROWS]
    rows = [(row, values) for row, values in rows if values]
    if not rows:
        return None
    drawing = Drawing(_TOP + len(rows) * _ROW + 22)
    for number, (row, values) in enumerate(rows):
        _draw(drawing, wording, row, values, number, len(points))
    bottom = drawing.height - 6
    drawing.text((MARGIN, bottom), points[0].label)
    if len(points) > 1:
        drawing.text((WIDTH - 8, bottom), points[-1].label, anchor="end")
    text = " ".join(_words(wording, row, values) for row, values in rows)
    return Picture("attempts", drawing.svg(wording.picture("attempts"), text), text)


def _measured(points: Sequence[AttemptPoint], row: _Row) -> list[tuple[int, float]]:
    return [(index, value) for index, point in enumerate(points) if (value := row.value(point)) is not None]


def _draw(
    drawing: Drawing, wording: Wording, row: _Row, values: list[tuple[int, float]], number: int, count: int
) -> None:
    top = _TOP + number * _ROW
    low, high = min(value for _, value in values), max(value for _, value in values)
    pad = max(0.05 * abs(high), (high - low) * 0.1)
    places = [
        (across(index, 0, max(1, count - 1)), upward(value, low - pad, high + pad, top + 8, top + _ROW - 20))
        for index, value in values
    ]
    drawing.text((MARGIN, top), wording.picture(row.name))
    drawing.text((WIDTH - 8, top), row.show(values[-1][1]), anchor="end")
    drawing.line((MARGIN, top + _ROW - 18), (WIDTH - 8, top + _ROW - 18), faint=True)
    drawing.path(places)
    for place in places:
        drawing.dot(place)


def _words(wording: Wording, row: _Row, values: list[tuple[int, float]]) -> str:
    return wording.picture(
        "attempts_text",
        name=wording.picture(row.name),
        first=row.show(values[0][1]),
        last=row.show(values[-1][1]),
        attempts=len(values),
    )
