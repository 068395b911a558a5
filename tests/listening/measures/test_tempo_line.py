"""The local tempo: bends with drift and rubato, steps where the player paused, and never follows a single note."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from counterpane.listening.measures.tempo_line import MOST_SEGMENTS, Row
from counterpane.listening.measures.time_steps import find_line

QUARTER_MS = 600.0


def _onsets(count: int, step: float = 0.5) -> np.ndarray:
    return np.arange(count) * step


def test_a_steady_performance_keeps_a_straight_line() -> None:
    """Steady playing with 15 ms of unevenness costs two parameters and no more."""
    onsets = _onsets(120)
    random = np.random.default_rng(3)
    line = find_line(onsets, QUARTER_MS * onsets + random.normal(0, 15, 120))
    assert line.design.shape[1] == 2
    assert line.quarter_ms(onsets) == pytest.approx(QUARTER_MS, rel=0.01)


@pytest.mark.parametrize("share", [-0.2, 0.1, 0.3])
def test_a_drift_is_followed(share: float) -> None:
    """Tempo that changes by a share over the passage is met at both ends within two percent."""
    onsets = _onsets(120)
    length = onsets[-1]
    times = QUARTER_MS * (onsets - share * onsets**2 / (2 * length))
    line = find_line(onsets, times)
    assert line.quarter_ms(onsets[:1])[0] == pytest.approx(QUARTER_MS, rel=0.02)
    assert line.quarter_ms(onsets[-1:])[0] == pytest.approx(QUARTER_MS * (1 - share), rel=0.02)


def test_rubato_over_a_few_measures_is_tempo_and_not_unevenness() -> None:
    """A tempo that swings by 6 % over four measures leaves the unevenness of 10 ms as it is."""
    onsets = _onsets(200, 0.25)
    wave = 16 / (2 * np.pi) * 0.06 * np.sin(2 * np.pi * onsets / 16)
    random = np.random.default_rng(5)
    line = find_line(onsets, QUARTER_MS * (onsets + wave) + random.normal(0, 10, 200))
    assert line.sd_ms == pytest.approx(10, rel=0.15)


@pytest.mark.parametrize(("index", "pause"), [(1, 900.0), (30, 400.0), (59, 1200.0)])
def test_a_pause_is_a_step_of_its_own_size(index: int, pause: float) -> None:
    """One pause is found before the note where time stood still, even before the second or the last note."""
    onsets = _onsets(60)
    random = np.random.default_rng(index)
    times = QUARTER_MS * onsets + random.normal(0, 12, 60) + pause * (np.arange(60) >= index)
    line = find_line(onsets, times)
    assert line.breaks == (index,)
    assert line.steps_ms[0] == pytest.approx(pause, abs=45)


@pytest.mark.parametrize("seed", range(8))
def test_a_pause_that_no_interval_shows_is_found_by_what_follows(seed: int) -> None:
    """300 ms among notes that stray by 60 ms: three SDs of an interval, but everything after it is late."""
    onsets = _onsets(60)
    drawn = np.random.default_rng(seed).normal(0, 60, 60)
    line = find_line(onsets, QUARTER_MS * onsets + drawn + 300 * (np.arange(60) >= 30))
    assert len(line.breaks) == 1
    assert abs(line.breaks[0] - 30) <= 2
    assert line.sd_ms == pytest.approx(drawn.std(ddof=1), rel=0.08)


def test_great_unevenness_makes_no_pauses() -> None:
    """Forty rows that stray by 60 ms and nothing else: not one step is made of it."""
    onsets = _onsets(100)
    rows = [QUARTER_MS * onsets + np.random.default_rng(seed).normal(0, 60, 100) for seed in range(40)]
    assert [find_line(onsets, times).breaks for times in rows] == [()] * 40


def test_an_hour_in_one_go_is_followed_with_a_bounded_number_of_parameters() -> None:
    """Eight thousand notes whose tempo swings by 6 % every 32 measures: followed, and not dearer than that."""
    onsets = _onsets(8000)
    wave = 128 / (2 * np.pi) * 0.06 * np.sin(2 * np.pi * onsets / 128)
    random = np.random.default_rng(6)
    line = Row(onsets, QUARTER_MS * (onsets + wave) + random.normal(0, 15, 8000)).fit(())
    assert line.design.shape[1] <= MOST_SEGMENTS + 3
    assert line.sd_ms == pytest.approx(15, rel=0.05)


def test_a_single_late_note_is_no_pause() -> None:
    """One note 200 ms late with the next in time is left out of the line and makes no step."""
    onsets = _onsets(60)
    random = np.random.default_rng(8)
    times = QUARTER_MS * onsets + random.normal(0, 8, 60)
    times[31] += 200
    line = find_line(onsets, times)
    assert line.breaks == ()
    assert not line.kept[31]
    assert line.sd_ms == pytest.approx(8, rel=0.25)


def test_a_pause_at_the_end_of_a_short_row_is_found() -> None:
    """Eight notes with a long pause before the last: the row is too short for its edges to be trusted."""
    onsets = np.array([36.0, 36.5, 36.75, 37.0, 37.5, 38.0, 38.5, 38.75])
    times = 1080 * onsets
    times[-1] += 900
    line = find_line(onsets, times)
    assert line.breaks == (7,)
    assert line.steps_ms[0] == pytest.approx(900, abs=1)


@settings(max_examples=40)
@given(
    count=st.integers(4, 200),
    seed=st.integers(0, 10_000),
    tempo=st.floats(20, 200),
    start=st.floats(0, 1e6),
)
def test_shifting_and_stretching_time_changes_nothing_else(
    count: int, seed: int, tempo: float, start: float
) -> None:
    """Residuals do not depend on when the playing began, and the fitted tempo scales with the tempo."""
    onsets = _onsets(count)
    drawn = np.random.default_rng(seed).normal(0, 10, count)
    here = Row(onsets, 60_000 / tempo * onsets + drawn).fit(())
    later = Row(onsets, 60_000 / tempo * onsets + drawn + start).fit(())
    assert later.residuals_ms == pytest.approx(here.residuals_ms, abs=0.01)
    assert later.quarter_ms(onsets) == pytest.approx(here.quarter_ms(onsets), rel=1e-4)
