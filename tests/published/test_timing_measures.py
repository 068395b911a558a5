"""Timing measures against what is published about playing and hearing.

Sources, each named again beside its check:
    van Vugt, Jabusch and Altenmüller (2012), doi 10.3389/fpsyg.2012.00495; Jabusch (2006), figures for thirteen
    professional pianists as given in the project's brief; Friberg and Sundberg (1995); Goebl (2001); MIDI 1.0
    Detailed Specification (hardware: 31,250 baud); Sen (1968), the worked example from memory.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from counterpane.listening.assess import assess
from counterpane.listening.measures.evenness import evenness
from counterpane.listening.measures.thresholds import WIRE_MS_A_NOTE, just_heard_ms
from counterpane.listening.measures.togetherness import togetherness
from counterpane.listening.measures.trend import robust_trend
from counterpane.model.assessment import Assessment
from counterpane.model.piece import Note, Piece
from counterpane.model.practice import Passage
from tests.listening.measures.figures import part
from tests.listening.measures.playing import Key, analysis_of, heard_from, performance_of, piece_of, play

UP = ["C4", "D4", "E4", "F4", "G4", "A4", "B4", "C5", "D5", "E5", "F5", "G5", "A5", "B5", "C6"]
DOWN = UP[::-1]
TIMING = ("uneven", "hands_apart", "hesitation", "rushing", "dragging", "unsteady", "rhythm", "cut_short")

RIGHT = "C5:1/4 D5:1/4 E5:1/4 F5:1/4 G5:1/2 E5:1/2 F5:1/4 E5:1/4 D5:1/4 C5:1/4 B4:1/2 D5:1/2 " * 10
LEFT = "C3:1/2 E3:1/2 G3:1/4 F3:1/4 E3:1/4 D3:1/4 G2:1/2 B2:1/2 D3:1/4 C3:1/4 B2:1/4 G2:1/4 " * 10


def _assess(piece: Piece, keys: list[Key], tempo: float) -> Assessment:
    return assess(piece, analysis_of(), Passage(1, len(piece.measures), "both", tempo), performance_of(keys))


def _drawn(piece: Piece, sd_ms: float, seed: int) -> dict[str, float]:
    values = np.random.default_rng(seed).normal(0, sd_ms, len(piece.notes))
    return {note.id: float(value) for note, value in zip(piece.notes, values, strict=True)}


def _steady(_: float) -> float:
    return 0.0


def _drifting(onset: float) -> float:
    """Return the shift of a tempo that rises by a fifth over the forty quarters."""
    return -700 * 0.1 * onset**2 / 40


def _hesitating(onset: float) -> float:
    """Return the shift of three pauses, of 600, 1,200 and 400 ms."""
    return 600.0 * (onset >= 7) + 1200.0 * (onset >= 19) + 400.0 * (onset >= 31)


@pytest.mark.parametrize("sd_ms", [5.0, 10.0, 20.0, 40.0, 60.0])
@pytest.mark.parametrize("flow", [_steady, _drifting, _hesitating])
@pytest.mark.parametrize("seed", range(3))
def test_jitter_of_a_known_sd_is_recovered(sd_ms: float, flow: Callable[[float], float], seed: int) -> None:
    """The project's own construction: independent normal displacements of every onset, 5 to 60 ms.

    Recovered within 1 ms or 5 %, against the SD of the displacements really drawn, from key events in whole ticks
    of a MIDI file (960 a second), through the real alignment.
    """
    piece = piece_of(RIGHT, LEFT)
    late = _drawn(piece, sd_ms, seed)
    keys = play(piece, 84, late_ms=lambda note: late[note.id] + flow(float(note.onset)))
    for key in keys:
        key.onset_ms = round(key.onset_ms * 0.96) / 0.96
    measured = _assess(piece, keys, 84).measures["evenness"]["onset_sd_ms"]
    really = float(np.std(list(late.values())))
    assert measured == pytest.approx(really, abs=max(1.0, 0.05 * really))


def _scale(sd_ms: float, seed: int) -> list[tuple[Piece, list[Key]]]:
    """C major over two octaves up and down in sixteenths at quarter = 120, six times, intervals of a known SD."""
    random = np.random.default_rng(seed)
    played = []
    for names in (UP, DOWN) * 6:
        piece = piece_of(" ".join(f"{name}:1/4" for name in names))
        keys = play(piece, 120)
        onsets = 1000 + np.concatenate([[0.0], np.cumsum(random.normal(125, sd_ms, len(keys) - 1))])
        for key, onset in zip(keys, onsets.tolist(), strict=True):
            key.onset_ms = onset
        played.append((piece, keys))
    return played


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(("sd_ms", "judged"), [(8.1, "even"), (8.9, "even"), (30.0, "uneven")])
def test_professional_scales_are_even_and_thirty_milliseconds_are_not(
    sd_ms: float, judged: str, seed: int
) -> None:
    """Jabusch (2006): professionals' intervals spread by 8.1 ms upward and 8.9 ms downward; 30 ms are uneven."""
    judgements = []
    for piece, keys in _scale(sd_ms, seed):
        found = evenness(heard_from(piece, keys, tempo=120))
        judgements.append(found["judged"])
        assert part(found["running"])["interval_ms"] == pytest.approx(125, rel=0.25)
    assert judgements.count(judged) >= 11
    assert max(set(judgements), key=judgements.count) == judged


def test_a_regular_scale_is_fitted_to_the_data() -> None:
    """Van Vugt et al. (2012): deviations are taken from the regular scale that fits best, whatever its tempo."""
    piece = piece_of(" ".join(f"{name}:1/4" for name in UP))
    for tempo in (60, 97, 160):
        running = part(evenness(heard_from(piece, play(piece, tempo), tempo=120))["running"])
        assert running["onset_sd_ms"] == pytest.approx(0, abs=0.01)
        assert running["interval_ms"] == pytest.approx(15_000 / tempo, abs=0.001)


def test_the_sd_about_the_fitted_scale_is_the_published_formula() -> None:
    """One scale with known displacements against the least-squares line through them, computed by numpy."""
    piece = piece_of(" ".join(f"{name}:1/4" for name in UP))
    late = _drawn(piece, 12, 4)
    keys = play(piece, 120, late_ms=lambda note: late[note.id])
    times = [key.onset_ms for key in keys]
    rank = np.arange(len(times))
    left = times - np.polyval(np.polyfit(rank, times, 1), rank)
    running = part(evenness(heard_from(piece, keys))["running"])
    assert running["onset_sd_ms"] == pytest.approx(float(np.sqrt((left**2).sum() / (len(times) - 2))), abs=0.001)
    assert running["ioi_sd_ms"] == pytest.approx(float(np.diff(times).std(ddof=1)), abs=0.001)


@pytest.mark.parametrize(
    ("interval_ms", "heard_ms"), [(100, 6), (125, 6), (240, 6), (400, 10), (600, 15), (1000, 25)]
)
def test_the_just_heard_displacement(interval_ms: float, heard_ms: float) -> None:
    """Friberg and Sundberg (1995): about 6 ms for intervals under 240 ms, about 2.5 % of longer ones."""
    assert just_heard_ms(interval_ms) == pytest.approx(heard_ms)


@pytest.mark.parametrize("tempo", [40.0, 80.0, 160.0])
@pytest.mark.parametrize("seed", range(4))
def test_nothing_that_cannot_be_heard_is_a_fault(tempo: float, seed: int) -> None:
    """Friberg and Sundberg (1995): displacements below the limit, on every note, give no timing finding."""
    piece = piece_of(RIGHT, LEFT)
    limit = just_heard_ms(15_000 / tempo)
    random = np.random.default_rng(seed)
    keys = play(piece, tempo, late_ms=lambda _: float(random.uniform(-limit, limit)))
    kinds = [finding.kind for finding in _assess(piece, keys, tempo).findings]
    assert not [kind for kind in kinds if kind.startswith(TIMING)]


@pytest.mark.parametrize("seed", range(6))
def test_whatever_is_called_uneven_can_be_heard(seed: int) -> None:
    """Friberg and Sundberg (1995): with any unevenness up to 60 ms, a finding names more than the limit."""
    piece = piece_of(RIGHT, LEFT)
    late = _drawn(piece, 10.0 * (seed + 1), seed)
    for finding in _assess(piece, play(piece, 90, late_ms=lambda note: late[note.id]), 90).findings:
        if finding.kind.startswith("uneven"):
            assert float(finding.evidence["ms"]) > just_heard_ms(60_000 / 90 / 4)


@pytest.mark.parametrize(("lead_ms", "fault"), [(20.0, False), (30.0, False), (120.0, True)])
def test_an_ordinary_melody_lead_is_no_fault(lead_ms: float, fault: bool) -> None:
    """Goebl (2001): melody notes about 30 ms ahead are ordinary expression; 120 ms are not."""
    piece = piece_of(RIGHT, LEFT)
    keys = play(piece, 84, late_ms=lambda note: lead_ms if note.hand == "left" else 0.0)
    assessment = _assess(piece, keys, 84)
    found = assessment.measures["togetherness"]
    assert found["leads"] == "right"
    assert found["ordinary_lead"] is not fault
    assert any(finding.kind.startswith("hands_apart") for finding in assessment.findings) is fault


def test_two_notes_struck_together_arrive_one_after_the_other_and_are_together() -> None:
    """MIDI 1.0: 31,250 baud, ten bits a byte, three bytes a note-on: 0.96 ms a note on the wire."""
    assert pytest.approx(3 * 10 / 31_250 * 1000) == WIRE_MS_A_NOTE

    def second_on_the_wire(note: Note) -> float:
        return WIRE_MS_A_NOTE if note.hand == "left" else 0.0

    piece = piece_of(RIGHT, LEFT)
    found = togetherness(heard_from(piece, play(piece, 84, late_ms=second_on_the_wire)))
    assert (found["value"], found["leads"]) == (0, None)


def test_the_robust_slope_is_sens() -> None:
    """Sen (1968), worked example (from memory): slope 4, 95 % interval from 26/7 to 35/8."""
    trend = robust_trend(np.array([1.0, 2, 3, 4, 10, 12, 18]), np.array([9.0, 15, 19, 20, 45, 55, 78]))
    assert trend.slope == 4
    assert (trend.low, trend.high) == (pytest.approx(26 / 7), pytest.approx(35 / 8))
    assert trend.certainty > 0.99
