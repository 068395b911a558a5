"""The JSON of `counterpane analyse`: the documented shape, places, ids that can be followed, and odd pieces."""

from __future__ import annotations

import json
from fractions import Fraction
from random import Random
from typing import Any

import pytest

from counterpane.analysis import analyse
from counterpane.analysis.report import analysis_json, number_json
from counterpane.errors import AnalysisError
from counterpane.model.analysis import Analysis
from counterpane.model.piece import Piece
from tests.analysis.planted_sequences import Draft, add_free
from tests.analysis.test_sections import analysed, invention
from tests.analysis.written import piece

# The documented keys of each object (DEVELOPERS.md, "The machine-readable face"); more keys may follow.
SHAPE = {
    "piece": {"title", "key", "meter", "measures", "hands", "voices", "hands_guessed"},
    "notes": {"id", "hand", "voice", "place", "duration", "pitch", "midi"},
    "subject": {"hand", "voice", "start", "end", "notes", "confidence", "reason"},
    "alternatives": {"hand", "voice", "start", "end", "notes", "confidence", "reason"},
    "statements": {"id", "hand", "voice", "start", "end", "form", "extent", "likeness", "notes", "confidence"},
    "sequences": {"hands", "start", "end", "count", "direction", "step", "statements"},
    "keys": {"measure", "key", "confidence"},
    "cadences": {"place", "key", "kind", "confidence"},
    "sections": {"label", "start", "end", "key", "statements", "sequences"},
    "comparisons": {"first", "second", "differences"},
    "peak": {"place", "pitch", "hand", "note"},
    "suggestions": {"place", "kind", "text", "reason"},
    "puzzles": {"id", "level", "question", "kind", "answer"},
}


def report(written: Piece, analysis: Analysis | None = None) -> dict[str, Any]:
    """Return the report as it arrives after being written and read as JSON."""
    text = json.dumps(analysis_json(written, analysis or analyse(written)), allow_nan=False)
    read: dict[str, Any] = json.loads(text)
    return read


def test_the_report_has_the_documented_shape() -> None:
    """Every documented key is there in every object, and no list that the piece fills is empty."""
    found = report(invention(), analysed())
    for name, keys in SHAPE.items():
        objects = found[name] if isinstance(found[name], list) else [found[name]]
        assert objects, name
        for one in objects:
            assert keys <= set(one), name


def test_places_are_measure_beat_and_offset() -> None:
    """Offsets count quarters from the start of the pickup; a pickup's beats are those of a full measure."""
    notes = report(piece("G4:1/2 A4:1/2 C5:3", "r:1 C3:3", meter=(3, 4), pickup="1"))["notes"]
    assert [note["place"] for note in notes] == [
        {"measure": 0, "beat": 3, "offset": 0},
        {"measure": 0, "beat": 3.5, "offset": 0.5},
        {"measure": 1, "beat": 1, "offset": 1},
        {"measure": 1, "beat": 1, "offset": 1},
    ]


def test_every_id_is_one_of_the_piece() -> None:
    """Notes named by statements, sequences, cadences and suggestions exist; so do statements named by sections."""
    found = report(invention())
    notes = {note["id"] for note in found["notes"]}
    statements = {statement["id"] for statement in found["statements"]}
    for group in ("statements", "sequences", "cadences", "suggestions", "exchanges", "episodes"):
        assert all(set(one["notes"]) <= notes for one in found[group])
    assert all(set(one["statements"]) <= statements for one in (*found["sections"], *found["sequences"]))
    assert {q for one in found["sections"] for q in one["sequences"]} <= {q["id"] for q in found["sequences"]}


def test_confidences_are_shares_and_reasons_are_sentences() -> None:
    """A confidence lies between 0 and 1, and what was found says why."""
    found = report(invention())
    for group in ("statements", "sequences", "cadences", "sections", "keys"):
        assert all(0 <= one["confidence"] <= 1 for one in found[group])
    for group in ("sequences", "cadences", "sections", "suggestions"):
        assert all(one["reason"].endswith(".") for one in found[group])


@pytest.mark.parametrize(
    ("fraction", "number"), [(Fraction(3), 3), (Fraction(5, 4), 1.25), (Fraction(1, 3), 0.333333)]
)
def test_fractions_become_plain_numbers(fraction: Fraction, number: float) -> None:
    """Whole numbers stay whole, thirds are cut to six decimals."""
    assert number_json(fraction) == number


LINE = "C5:1/2 E5:1/2 D5:1/2 F5:1/2 E5:1/2 G5:1/2 D5:1/2 B4:1/2 C5:1 D5:1 E5:1 C5:1"


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("no notes in the left hand", piece(LINE)),
        ("no notes in the right hand", piece("", LINE)),
        ("one note", piece("C5:1")),
        ("two notes", piece("C5:1 D5:1")),
        ("all one pitch", piece(" ".join(["C5:1/2"] * 64), " ".join(["C3:1"] * 32))),
        ("no key signature", piece(LINE, "C3:4 G3:4", fifths=None)),
        ("rests in the middle", piece(f"{LINE} r:16 {LINE}", "C3:4 r:24 C3:4")),
        ("chords only", piece("C5+E5+G5:1 D5+F5+A5:1 E5+G5+B5:1 C5+E5+G5:1", "C3:1 D3:1 E3:1 C3:1")),
        ("one note held through", piece("C5:16", f"{LINE} C3:4 C3:4")),
        ("five eighths", piece(LINE, "C3:4 G3:4", meter=(5, 8))),
        ("odd tuplets", piece("C5:1/7 D5:1/7 E5:1/7 C5:4/7 D5:1/11 E5:10/11 C5:2", "C3:4")),
        ("four voices", piece([LINE, LINE], [LINE, LINE])),
    ],
)
def test_odd_pieces_have_an_answer(name: str, written: Piece) -> None:
    """Whatever a piece lacks, it has keys for its measures, sections that hold it, and a valid report."""
    found = report(written)
    assert len(found["keys"]) == len(written.measures)
    assert found["sections"][0]["first_measure"] == written.measures[0].number
    assert found["sections"][-1]["last_measure"] == written.measures[-1].number
    assert found["peak"]["note"] in {note["id"] for note in found["notes"]}


def test_a_piece_without_notes_is_one_sentence() -> None:
    """Nothing to analyse is said, not guessed."""
    with pytest.raises(AnalysisError, match="no notes to analyse"):
        analyse(piece(""))


def test_twenty_thousand_notes_are_answered() -> None:
    """A file as long as a book is analysed to its end."""
    draft = Draft(Random(7), (4, 4), 0)
    while sum(len(tones) for tones in draft.hands.values()) < 20_000:
        add_free(draft, 40 * draft.measure)
    long = draft.piece()
    assert analyse(long).sections[-1].last_measure == long.measures[-1].number
