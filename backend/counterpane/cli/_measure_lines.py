"""The lines of measures on a sheet: sections, statements of each hand, sequences, cadences and keys."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil

from counterpane.analysis.meter import beat_length
from counterpane.analysis.sections import CLOSING
from counterpane.model.analysis import Analysis
from counterpane.model.piece import HANDS, Measure, Piece

STROKES = {"upright": "╱", "inverted": "╲", "retrograde": "R", "augmented": "A", "diminished": "D"}
ARROWS = {"rising": "↗", "falling": "↘"}
CADENCES = {"authentic": "A", "half": "H", "deceptive": "D", "plagal": "P"}
_DASH = "─"
_LABEL = 10
LEGEND = (
    "╱ upright statement  ╲ inverted  ─ while it lasts  ↗ ↘ a copy in a sequence  "
    "cadences: A authentic, H half, D deceptive, P plagal"
)


def measure_lines(piece: Piece, analysis: Analysis, width: int) -> Iterator[str]:
    """Yield the lines, in systems of as many measures as `width` characters hold, and the legend."""
    cells = max(3, min(12, ceil(max(m.length / beat_length(m) for m in piece.measures))) * 2)
    fitting = max(1, (width - _LABEL - 1) // (cells + 1))
    rows = _rows(piece, analysis, cells)
    for first in range(0, len(piece.measures), fitting):
        system = piece.measures[first : first + fitting]
        yield " " * _LABEL + "".join(f" {m.number:<{cells}}" for m in system)
        for name, row in rows:
            parts = ["".join(row[m.index * cells : (m.index + 1) * cells]) for m in system]
            if any(part.strip() for part in parts) or name in HANDS:
                yield f"{name:<{_LABEL}}" + "".join(f"│{part}" for part in parts) + "│"
        yield ""
    yield LEGEND
    yield ""


def _rows(piece: Piece, analysis: Analysis, cells: int) -> list[tuple[str, list[str]]]:
    canvas = _Canvas(piece, cells)
    section, sequence, cadence, key = (canvas.row() for _ in range(4))
    for found in analysis.sections:
        canvas.write(section, found.start.offset, "close" if found.label == CLOSING else found.label)
    hands = []
    for hand in HANDS:
        row = canvas.row()
        for statement in analysis.statements:
            if statement.hand == hand:
                canvas.fill(row, statement.start.offset, statement.end.offset)
        for statement in analysis.statements:
            if statement.hand == hand:
                canvas.write(row, statement.start.offset, STROKES[statement.form])
        hands.append((hand, row))
    for found_sequence in analysis.sequences:
        for copy in found_sequence.copies:
            canvas.write(sequence, min(piece.by_id[n].onset for n in copy), ARROWS[found_sequence.direction])
    for found_cadence in analysis.cadences:
        canvas.write(cadence, found_cadence.place.offset, CADENCES[found_cadence.kind])
    previous = None
    for measure, found_key in zip(piece.measures, analysis.keys, strict=True):
        if found_key.key != previous:
            canvas.write(key, measure.onset, short_key(found_key.key))
        previous = found_key.key
    return [("section", section), *hands, ("sequence", sequence), ("cadence", cadence), ("key", key)]


def short_key(name: str) -> str:
    """Return a key as musicians shorten it: "C major" is "C", "A minor" is "a"."""
    tonic, mode = name.split()
    return tonic if mode == "major" else tonic[0].lower() + tonic[1:]


class _Canvas:
    """Rows of characters, `cells` to a measure; what does not fit into the piece is cut off."""

    def __init__(self, piece: Piece, cells: int) -> None:
        self.piece = piece
        self.cells = cells

    def row(self) -> list[str]:
        return [" "] * (len(self.piece.measures) * self.cells)

    def write(self, row: list[str], offset: Fraction, text: str) -> None:
        start = self._column(offset)
        for column, character in enumerate(text, start):
            if column < len(row):
                row[column] = character

    def fill(self, row: list[str], start: Fraction, end: Fraction) -> None:
        for column in range(self._column(start), self._column(end) + 1):
            row[column] = _DASH

    def _column(self, offset: Fraction) -> int:
        measure: Measure = self.piece.measure_at(offset)
        share = (offset - measure.onset + measure.padding) / (measure.length + measure.padding)
        return measure.index * self.cells + min(self.cells - 1, int(share * self.cells))
