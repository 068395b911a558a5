"""One tempo over several passes: breaking off and beginning again is no new tempo, and no unevenness either."""

from itertools import accumulate

import numpy as np
import pytest

from counterpane.listening.measures.stretches import Onsets, Stretch, find_stretches

QUARTER_MS = 600.0
JITTER_MS = 20.0
RESTARTS = ((0, 13), (8, 24), (20, 23), (18, 60), (60, 64), (57, 120))


def _pass(
    reach: tuple[int, int], begins_ms: float, chance: np.random.Generator, tempo: float = 1.0
) -> tuple[Onsets, list[float]]:
    """Play eighths, the left hand every quarter; return them and their displacements."""
    first, last = reach
    rows, drawn = [], []
    for number in range(first, last):
        for left in (False, True)[: 2 - number % 2]:
            drawn.append(chance.normal(0, JITTER_MS))
            time = begins_ms + (number - first) / 2 * QUARTER_MS / tempo + drawn[-1]
            rows.append((number / 2, left, time))
    return Onsets.of(rows, ()), drawn


def _attempt(seed: int, tempos: tuple[float, ...]) -> tuple[list[Stretch], float]:
    """Play the restarts at a tempo each; return what was found, and the SD that was really drawn."""
    chance = np.random.default_rng(seed)
    lengths = [
        (last - first) / 2 * QUARTER_MS / tempo for (first, last), tempo in zip(RESTARTS, tempos, strict=True)
    ]
    begins = [0.0, *accumulate(length + chance.uniform(300, 2000) for length in lengths)]
    played = [
        _pass(reach, start, chance, tempo)
        for reach, start, tempo in zip(RESTARTS, begins[: len(RESTARTS)], tempos, strict=True)
    ]
    drawn = [away for _, row in played for away in row]
    return find_stretches(onsets for onsets, _ in played), float(np.std(drawn, ddof=1))


def _sd_ms(stretches: list[Stretch]) -> float:
    squares = sum(float((one.line.residuals_ms[one.line.kept] ** 2).sum()) for one in stretches)
    return float((squares / sum(one.line.degrees_of_freedom for one in stretches)) ** 0.5)


def test_six_passes_at_one_tempo_are_mostly_one_stretch() -> None:
    """In sixteen of twenty attempts; a pass by itself costs parameters, and falsifies nothing."""
    found = [_attempt(seed, (1.0,) * 6)[0] for seed in range(20)]
    assert sum(len(one) == 1 for one in found) >= 16
    assert all(sum(one.line.design.shape[1] for one in stretches) <= 12 for stretches in found)


@pytest.mark.parametrize("seed", range(10))
def test_unevenness_is_recovered_over_restarts(seed: int) -> None:
    """The SD that was drawn comes back within 5 %, abandoned starts of three notes included."""
    stretches, drawn = _attempt(seed, (1.0,) * 6)
    assert sum(len(one.onsets.written) for one in stretches) == 212
    assert _sd_ms(stretches) == pytest.approx(drawn, rel=0.05)


@pytest.mark.parametrize("slower", [0.95, 0.8, 0.5])
def test_a_pass_at_another_tempo_is_no_unevenness(slower: float) -> None:
    """Who slows down for the hard place by a twentieth, a fifth or a half is as even as before."""
    for seed in range(5):
        stretches, drawn = _attempt(seed, (1.0, 1.0, 1.0, slower, slower, 1.0))
        assert len(stretches) > 1
        assert _sd_ms(stretches) == pytest.approx(drawn, rel=0.06)


def test_an_abandoned_start_at_the_tempo_of_the_rest_belongs_to_it() -> None:
    """Three notes alone tell no tempo; with the pass that follows they are heard against its own."""
    chance = np.random.default_rng(3)
    short, _ = _pass((4, 7), 0.0, chance)
    long, _ = _pass((4, 60), 2500.0, chance)
    (stretch,) = find_stretches([short, long])
    assert len(stretch.onsets.written) == len(short.written) + len(long.written)
    assert stretch.onsets.steps == (len(short.written),)


def test_a_drift_goes_on_through_a_restart() -> None:
    """Playing that slows by a third over two passes bends one line, wherever the second begins."""
    chance = np.random.default_rng(4)
    along = np.arange(160) / 2
    times = QUARTER_MS * (along + 0.33 * along**2 / 160) + chance.normal(0, JITTER_MS, 160)
    halves = (slice(0, 80), slice(80, 160))
    passes = [
        Onsets.of([(place / 2, False, time) for place, time in enumerate(times[half].tolist())], ())
        for half in halves
    ]
    (stretch,) = find_stretches(passes)
    assert stretch.line.sd_ms == pytest.approx(JITTER_MS, rel=0.15)


def test_an_hour_of_short_passes_is_cut_into_stretches_of_bounded_length() -> None:
    """Two hundred passes of twenty notes: none of the stretches grows past what is quickly fitted."""
    chance = np.random.default_rng(5)
    passes = [_pass((0, 20), 8000.0 * number, chance)[0] for number in range(200)]
    found = find_stretches(passes)
    assert sum(len(one.onsets.written) for one in found) == 200 * 30
    assert max(len(one.onsets.written) for one in found) <= 630
