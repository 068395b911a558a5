"""A recording with a note alignment made by hand, as the general-purpose aligner `parangonar` ships it.

Source: W. A. Mozart, Variations K. 265, first variation: `parangonar/assets/mozart_k265_var1.match`, in the
wheel of parangonar 3.4, read with partitura. Nothing of it is kept here.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.piece import Measure, Note, Piece, Pitch
from tests.published.general_aligner import quietly

with quietly():
    import parangonar
    import partitura

_SPELLED = ("C0", "C1", "D0", "D1", "E0", "F0", "F1", "G0", "G1", "A0", "A1", "B0")


@dataclass(frozen=True)
class Recording:
    """A score, a performance, the true pairs of score and performance ids, and the arrays they came from."""

    piece: Piece
    performance: Performance
    ids: tuple[str, ...]
    """The recording's own name of each event."""

    pairs: frozenset[tuple[str, str]]
    score_array: Any
    performance_array: Any


def load_recording() -> Recording:
    """Read the recording from the installed wheel."""
    path = Path(parangonar.__file__).parent / "assets" / "mozart_k265_var1.match"
    with quietly():
        performance, alignment, score = partitura.load_match(str(path), create_score=True)
        score_array = score.note_array(include_grace_notes=True, include_staff=True)
        played = performance.note_array()
    order = sorted(range(len(played)), key=lambda n: (played["onset_sec"][n], played["pitch"][n]))
    notes = tuple(
        PlayedNote(event, 1000.0 * float(row["onset_sec"]), None, int(row["pitch"]), int(row["velocity"]))
        for event, row in enumerate(played[order])
    )
    pairs = frozenset((str(a["score_id"]), str(a["performance_id"])) for a in alignment if a["label"] == "match")
    ids = tuple(str(name) for name in played["id"][order])
    return Recording(_piece(score_array), Performance(notes), ids, pairs, score_array, played)


def _piece(score_array: Any) -> Piece:
    notes = sorted(
        (
            Note(
                str(row["id"]),
                "right" if row["staff"] == 1 else "left",
                int(row["voice"]),
                Fraction(float(row["onset_quarter"])).limit_denominator(960),
                Fraction(float(row["duration_quarter"])).limit_denominator(960),
                _pitch(int(row["pitch"])),
            )
            for row in score_array
        ),
        key=lambda note: (note.onset, note.hand != "right", note.midi),
    )
    count = int(max(note.end for note in notes) // 2) + 1
    measures = tuple(Measure(f"m{n}", n, n + 1, Fraction(2 * n), Fraction(2), 2, 4) for n in range(count))
    return Piece("Variation", "", "", measures, (), tuple(notes))


def _pitch(midi: int) -> Pitch:
    name = _SPELLED[midi % 12]
    return Pitch(name[0], int(name[1]), midi // 12 - 1)


def f1(claimed: set[tuple[str, str]], true: frozenset[tuple[str, str]]) -> float:
    """Return the harmonic mean of precision and recall of pairs."""
    return 2 * len(claimed & true) / (len(claimed) + len(true))
