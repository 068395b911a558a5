"""Findings over many simulated sessions of every fault kind: what holds for all of them."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from counterpane.analysis import analyse
from counterpane.listening.assess import assess
from counterpane.listening.events import performance_from_raw
from counterpane.listening.pictures import attempt_pictures
from counterpane.listening.report import assessment_json
from counterpane.model.analysis import Analysis
from counterpane.model.assessment import Assessment
from counterpane.model.piece import Piece
from counterpane.model.practice import Passage
from counterpane.score import read_score
from demo.simulation import FAULT_KINDS, Faults, Session, simulate
from tests.listening.measures.figures import rows

PIECES = Path(__file__).resolve().parents[2] / "demo" / "pieces"
PRAISE = 10.0


@cache
def _piece(name: str) -> tuple[Piece, Analysis]:
    piece = read_score(PIECES / f"{name}.musicxml").piece
    return piece, analyse(piece)


def _attempt(faults: Faults, seed: int, name: str = "the-ferry-bell") -> tuple[Session, Assessment]:
    piece, analysis = _piece(name)
    passage = Passage(1, 8, "both", piece.tempo or 80.0)
    session = simulate(piece, passage, seed, faults)
    return session, assess(piece, analysis, passage, performance_from_raw(session.raw))


@pytest.mark.parametrize("kind", FAULT_KINDS)
@pytest.mark.parametrize("seed", range(3))
def test_every_session_gets_a_report_that_can_be_read(kind: str, seed: int) -> None:
    """At most three findings for the student, in order, inside the passage, in whole sentences; plain JSON."""
    _, assessment = _attempt(FAULT_KINDS[kind], seed)
    told = assessment.for_student
    assert 1 <= len(told) <= 3
    assert list(told) == [finding for finding in assessment.findings if finding in told]
    weights = [finding.weight for finding in assessment.findings]
    assert weights == sorted(weights, reverse=True)
    for finding in assessment.findings:
        assert 1 <= finding.place.measure <= finding.end.measure <= 8
        assert finding.text[-1] in ".?"
        assert finding.next_step[-1] in ".?"
        assert not set("{}") & set(finding.text + finding.next_step)
    json.dumps(assessment_json(assessment), allow_nan=False)


@pytest.mark.parametrize("kind", ["clean", "mixed", "hard mix", "one hand", "early stop"])
def test_every_session_can_be_drawn(kind: str) -> None:
    """Pictures never fail, whatever happened in the session."""
    piece, analysis = _piece("the-ferry-bell")
    session, assessment = _attempt(FAULT_KINDS[kind], 1)
    for picture in attempt_pictures(piece, analysis, assessment, performance_from_raw(session.raw)):
        assert picture.svg.startswith("<svg")
        assert picture.text


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("early stop", "stopped_early"),
        ("late start", "began_late"),
        ("one hand", "one_hand"),
        ("drifting", "rushing"),
    ],
)
def test_the_fault_that_was_put_in_is_among_the_three(kind: str, expected: str) -> None:
    """What the simulated student did wrong throughout is what the real one would be told, in every seed.

    (With seed 0 the late start is late by one note, which nobody would mention.)
    """
    for seed in range(1, 6):
        _, assessment = _attempt(FAULT_KINDS[kind], seed)
        assert expected in [finding.kind for finding in assessment.for_student], seed


def test_every_hesitation_that_was_put_in_is_found_with_its_length() -> None:
    """The simulator's pauses against the measure: same place, and the length within 60 ms."""
    found, true = 0, 0
    for seed in range(6):
        piece, _ = _piece("the-ferry-bell")
        session, assessment = _attempt(FAULT_KINDS["hesitating"], seed)
        pauses = rows(assessment.measures["hesitations"]["at"])
        lengths = {row["place"]["offset"]: row["ms"] for row in pauses}
        for fault in session.faults:
            if fault.kind == "hesitation" and fault.size > 300:
                true += 1
                found += abs(lengths.get(float(piece.by_id[str(fault.note)].onset), 0.0) - fault.size) < 60
    assert true > 20
    assert found == true


def test_a_clean_session_is_praised_and_nothing_but_music_is_asked() -> None:
    """No fault in notes, rhythm or tempo is invented for clean playing; entries and balance may be spoken of."""
    musical = ("entries", "covered", "sequence", "mechanical", "touch", "overdone")
    for seed in range(8):
        _, assessment = _attempt(replace(FAULT_KINDS["clean"], jitter_ms=8.0), seed)
        faults = [finding.kind for finding in assessment.findings if finding.weight >= PRAISE]
        assert all(kind.startswith(musical) for kind in faults), faults
        assert any(finding.kind.startswith("praise") for finding in assessment.for_student)
