"""What was marked by hand in the scores of scores/ before the analysis was run on them (scores/marks.toml)."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from counterpane.model.analysis import Statement
from counterpane.model.piece import Piece
from counterpane.score import read_score

SCORES = Path(__file__).parent / "scores"
MARKS: dict[str, dict[str, Any]] = tomllib.loads((SCORES / "marks.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True)
class Mark:
    """A statement; `start` and `end` are the onsets of its first and last note, in quarters."""

    hand: str
    start: Fraction
    end: Fraction
    form: str
    extent: str


@cache
def piece_named(name: str) -> Piece:
    return read_score(SCORES / f"{name}.krn").piece


def marked_statements(name: str) -> list[Mark]:
    """Read the lines "right 1:1-3:2.5 upright complete" of a whole piece."""
    piece = piece_named(name)
    marked = []
    for line in MARKS[name]["statements"]:
        hand, span, form, extent = line.split()
        start, end = (_offset(piece, place) for place in span.split("-"))
        marked.append(Mark(hand, start, end, form, extent))
    return marked


def marked_entries(name: str) -> list[tuple[int, Fraction, str]]:
    """Read the lines "2 1:1.5": voice from the top, onset of the first note, form; in order of onset."""
    piece = piece_named(name)
    entries = []
    for form in ("upright", "inverted"):
        for line in MARKS[name].get(form, []):
            voice, place = line.split()
            entries.append((int(voice), _offset(piece, place), form))
    return sorted(entries, key=lambda entry: entry[1])


def as_mark(found: Statement) -> Mark:
    """Return a statement of the analysis as it would be marked by hand."""
    return Mark(found.hand, found.start.offset, found.end.offset, found.form, found.extent)


def f1(marked: Iterable[Mark], found: Iterable[Mark]) -> float:
    """Return the F measure of `found` against `marked`; a statement is hit by its hand, form and first note."""
    wanted, heard = (Counter((one.hand, one.form, one.start) for one in marks) for marks in (marked, found))
    return 2 * (wanted & heard).total() / (wanted.total() + heard.total())


def _offset(piece: Piece, place: str) -> Fraction:
    measure, beat = place.split(":")
    return piece.offset(int(measure), Fraction(beat))
