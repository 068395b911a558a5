"""Chorales of J. S. Bach with published analyses of their harmony, as music21 ships both.

Scores: music21's corpus (bach/bwv*.mxl). Analyses: roman numerals of the chorales in Riemenschneider's order by
Andrew Jones, proofread by Dmitri Tymoczko and Hamish Robb (bach/choraleAnalyses/*.rntxt in the same corpus). An
analysis is used when its score is there under its catalogue number and ends on the note that the analysis names
(two scores stand in another key than the analysis).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import music21

from counterpane.analysis.key_names import key_from_name
from counterpane.model.piece import Piece
from counterpane.score import read_score

BACH = Path(music21.__file__).parent / "corpus" / "bach"
_KEY = re.compile(r"([A-Ga-g])([b#]?):")


@dataclass(frozen=True)
class Chord:
    """One roman numeral: measure number, beat, key in force, and the figure as printed."""

    measure: int
    beat: float
    key: str
    figure: str

    @property
    def degree(self) -> str:
        """The numeral alone, in capitals: "V" for V6/5; of a chord borrowed from another key the whole figure."""
        return (
            self.figure
            if "/" in re.sub(r"\d/\d", "", self.figure)
            else re.sub(r"[^ivIV]", "", self.figure).upper()
        )


@dataclass(frozen=True)
class Analysed:
    """A chorale and the chords of its analysis in order."""

    catalogue: str
    piece: Piece
    chords: tuple[Chord, ...]

    def keys_in(self, measure: int) -> set[str]:
        """Return the keys that are in force anywhere in a measure."""
        before = [chord.key for chord in self.chords if chord.measure < measure][-1:]
        inside = [chord for chord in self.chords if chord.measure == measure]
        held = before if not inside or inside[0].beat > 1 else []
        return {*held, *(chord.key for chord in inside)}

    def at(self, measure: int, beat: float) -> int:
        """Return the index of the chord that sounds at a place."""
        return max(i for i, chord in enumerate(self.chords) if (chord.measure, chord.beat) <= (measure, beat))


@cache
def analyses() -> tuple[Analysed, ...]:
    """Return the analysed chorales, in Riemenschneider's order."""
    paths = sorted((BACH / "choraleAnalyses").glob("*.rntxt"))
    read = [_analysed(path) for path in paths if _score(path).exists()]
    return tuple(one for one in read if _ends_alike(one))


def _analysed(path: Path) -> Analysed:
    chords: list[Chord] = []
    key = ""
    for line in path.read_text(encoding="utf-8").splitlines():
        measure, *tokens = line.split() or [""]
        if not re.fullmatch(r"m\d+", measure):
            continue  # headings, notes, and second opinions such as m11var1
        beat = 1.0
        for word in tokens:
            if re.fullmatch(r"b\d+(\.\d+)?", word):
                beat = float(word[1:])
            elif match := _KEY.fullmatch(word):
                key = f"{match[1].upper()}{match[2]} {'major' if match[1].isupper() else 'minor'}"
            elif word != "||":
                chords.append(Chord(int(measure[1:]), beat, key, word))
    return Analysed(_catalogue(path), read_score(_score(path)).piece, tuple(chords))


def _ends_alike(one: Analysed) -> bool:
    last = one.chords[-1]
    lowest = min(one.piece.notes[-4:], key=lambda note: note.midi)
    return last.degree != "I" or lowest.midi % 12 == key_from_name(last.key).tonic


def _catalogue(path: Path) -> str:
    match = re.search(r"BWV: (\S+)", path.read_text(encoding="utf-8"))
    assert match is not None
    return match.group(1)


def _score(path: Path) -> Path:
    return BACH / f"bwv{_catalogue(path)}.mxl"
