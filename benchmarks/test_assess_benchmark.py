"""Measures: how well a known unevenness is recovered, and what an assessment costs beside its alignment.

    .venv/bin/python -m pytest benchmarks/test_assess_benchmark.py -s

prints two tables over the demo pieces and the published encodings. The first: for every SD of jitter and seven
ways of playing, the median ratio of the measured SD to the one really drawn, the share of sessions within 1 ms or
5 %, and beside it the share that chance allows: a fit of p parameters to n notes leaves an error of
sqrt(p / 2) / n of the SD, whatever is done (tempo_line.py). The second: hesitations put in, found, missed and
invented, with the error of their lengths. Then pytest-benchmark's own table for alignment, and for measures and
findings, of about 500 notes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from counterpane.analysis import analyse
from counterpane.listening.alignment import align
from counterpane.listening.assess import assess_alignment
from counterpane.listening.events import performance_from_raw
from counterpane.listening.measures import Heard, hear
from counterpane.listening.measures.evenness import evenness
from counterpane.listening.measures.hesitations import hesitations
from counterpane.listening.measures.sheet import Sheet
from counterpane.model.piece import Piece
from counterpane.model.practice import Passage
from counterpane.score import read_score
from demo.simulation import FAULT_KINDS, Faults, Session
from demo.simulation.student import _Student as Student
from tests.listening.composer import compose

ROOT = Path(__file__).parents[1]
KINDS = ("clean", "drifting", "hesitating", "restarts", "repeats", "wrong", "missed")
JITTERS_MS = (5.0, 10.0, 20.0, 40.0, 60.0)
SEEDS = (1, 2, 3)
SCORE_FILES = sorted(
    path
    for folder in (ROOT / "demo" / "pieces", ROOT / "tests" / "published" / "scores")
    for path in folder.glob("*")
    if path.suffix in (".krn", ".musicxml", ".mei")
)


@cache
def pieces() -> tuple[Piece, ...]:
    return tuple(read_score(path).piece for path in SCORE_FILES)


def whole(piece: Piece) -> Passage:
    return Passage(piece.measures[0].number, piece.measures[-1].number, "both", piece.tempo or 80.0)


def session_and_jitter(piece: Piece, faults: Faults, seed: int) -> tuple[Session, float]:
    """Play with and without jitter from one seed: the difference is the displacement of every key.

    The SD is that of the notes that evenness is about: no chords, no ornamented notes.
    """
    with_jitter = Student(piece, whole(piece), faults, Random(seed))
    without = Student(piece, whole(piece), replace(faults, jitter_ms=0.0), Random(seed))
    session, _ = with_jitter.play(), without.play()
    sheet = Sheet(piece, piece.notes)
    moved = [
        a.time_ms - b.time_ms
        for a, b in zip(with_jitter.book.strokes, without.book.strokes, strict=True)
        if a.note and a.note.id not in sheet.loose and (a.note.hand, float(a.note.onset)) not in sheet.chords
    ]
    return session, float(np.std(moved, ddof=1))


@dataclass
class Recovery:
    """Measured over drawn SD, whether within 1 ms or 5 %, and how probable that was; one entry a session."""

    ratios: list[float] = field(default_factory=list)
    within: list[bool] = field(default_factory=list)
    allowed: list[float] = field(default_factory=list)

    def add(self, measured: float, drawn: float, heard: Heard) -> None:
        """Take one session in."""
        tolerance = max(1.0, 0.05 * drawn)
        self.ratios.append(measured / drawn)
        self.within.append(abs(measured - drawn) <= tolerance)
        lines = [line for hand in heard.sheet.hands for line in heard.hand_lines[hand]]
        notes = sum(int(line.kept.sum()) for line in lines)
        parameters = notes - sum(line.freedom for line in lines)
        self.allowed.append(math.erf(tolerance / drawn * notes / math.sqrt(parameters)))

    def __str__(self) -> str:
        within, allowed = (100 * float(np.mean(share)) for share in (self.within, self.allowed))
        return f"{np.median(self.ratios):.3f} {within:3.0f} of {allowed:3.0f} %"


@pytest.mark.parametrize("kind", KINDS)
def test_a_known_jitter_is_recovered(kind: str) -> None:
    cells = []
    for jitter_ms in JITTERS_MS:
        found = Recovery()
        faults = replace(
            FAULT_KINDS[kind], jitter_ms=jitter_ms, asynchrony_sd_ms=0.0, asynchrony_ms=5.0, chord_spread_ms=0.0
        )
        for piece in pieces():
            for seed in SEEDS:
                session, drawn = session_and_jitter(piece, faults, seed)
                performance = performance_from_raw(session.raw)
                passage = whole(piece)
                heard = hear(piece, passage, performance, align(piece, passage, performance))
                measured = evenness(heard)["onset_sd_ms"]
                if isinstance(measured, float):
                    found.add(measured, drawn, heard)
        cells.append(str(found))
        assert 0.95 < np.median(found.ratios) < 1.05
    header = "   ".join(f"{jitter:4.0f} ms{'':11}" for jitter in JITTERS_MS)
    print(f"\n{'':12}{header}\n{kind:12}{'   '.join(cells)}")


def test_hesitations_are_found_where_they_are() -> None:
    found = missed = invented = 0
    errors: list[float] = []
    for piece in pieces():
        for seed in SEEDS:
            session, _ = session_and_jitter(piece, FAULT_KINDS["hesitating"], seed)
            performance = performance_from_raw(session.raw)
            passage = whole(piece)
            heard = hear(piece, passage, performance, align(piece, passage, performance))
            rows = hesitations(heard)["at"]
            assert isinstance(rows, list)
            at = {row["place"]["offset"]: row["ms"] for row in rows}
            for fault in session.faults:
                if fault.kind != "hesitation" or fault.note is None:
                    continue
                ms = at.pop(float(piece.by_id[fault.note].onset), None)
                found, missed = found + (ms is not None), missed + (ms is None)
                errors += [] if ms is None else [ms - fault.size]
            invented += len(at)
    print(f"\nhesitations: {found} found, {missed} missed, {invented} invented; ")
    print(f"length off by {np.mean(errors):.0f} ms on average, SD {np.std(errors):.0f} ms")
    assert found > 20 * missed


@pytest.mark.parametrize("stage", ["alignment", "measures and findings"])
def test_five_hundred_notes(benchmark: BenchmarkFixture, stage: str) -> None:
    piece = compose(11, 36)
    passage = whole(piece)
    session, _ = session_and_jitter(piece, FAULT_KINDS["clean"], 1)
    performance = performance_from_raw(session.raw)
    alignment, analysis = align(piece, passage, performance), analyse(piece)
    print(f"\n{len(piece.notes)} notes")
    if stage == "alignment":
        benchmark(align, piece, passage, performance)
    else:
        benchmark(assess_alignment, piece, analysis, passage, performance, alignment)
