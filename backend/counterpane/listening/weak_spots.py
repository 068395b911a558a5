"""Weak spots: where a student has trouble again and again, measure by measure and hand by hand, across attempts.

Definition
    Every pass through a measure by a hand is one trial: troubled or not (troubles.py). A weak spot is a measure
    and hand whose chance of trouble is probably more than one in three.
Unit
    Chances 0 to 1.
Formula
    With k troubled of n passes and a Beta(1/2, 3/2) prior (one in four, worth two passes), the chance is
    Beta(1/2 + k, 3/2 + n - k). `share` is its mean, `low` to `high` its middle 90 %, `certainty` the probability
    that it is above one third: it moves toward 1 (or 0) as attempts add up. `trend` compares the earlier half of
    the attempts that came here with the later half: P(later > earlier) from 0.85 up is "worse", from 0.15 down
    "better", anything between "steady"; `trend_certainty` is that probability, or one minus it.
Conventions
    Attempts in the order in which they were made. Two attempts are too few for a trend: "steady", certainty 0.
Source
    Beta-binomial model, as in any textbook of Bayesian statistics; prior and limits "common practice, no source".
What it cannot know
    Whether attempts were slower or faster: a spot may look better because the tempo went down.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Literal

import numpy as np

from counterpane.listening.measures.tempo_line import Floats
from counterpane.model.assessment import MeasureTally
from counterpane.model.piece import Hand

Trend = Literal["worse", "steady", "better"]
WEAK = 1 / 3
PRIOR = (0.5, 1.5)
FEWEST_FOR_TREND = 3
SURE = 0.85
KINDS = ("wrong", "left_out", "hesitations", "stops")
_GRID = (np.arange(1000) + 0.5) / 1000


@dataclass(frozen=True)
class WeakSpot:
    """One measure and hand with trouble; `kinds` counts the troubles of each sort over all attempts."""

    measure: int
    hand: Hand
    attempts: int
    visits: int
    troubled: int
    share: float
    low: float
    high: float
    certainty: float
    trend: Trend
    trend_certainty: float
    kinds: Mapping[str, int]


def weak_spots(attempts: Sequence[Iterable[MeasureTally]]) -> tuple[WeakSpot, ...]:
    """Return every measure and hand that had trouble in these attempts (in order), the weakest first."""
    cells: dict[tuple[int, Hand], list[MeasureTally]] = defaultdict(list)
    for attempt in attempts:
        for tally in attempt:
            if tally.visits:
                cells[tally.measure, tally.hand].append(tally)
    found = [_spot(rows) for rows in cells.values() if any(row.troubled for row in rows)]
    return tuple(sorted(found, key=lambda spot: (-spot.certainty * spot.share, spot.measure, spot.hand)))


def tallies_from_json(rows: Iterable[Mapping[str, object]]) -> tuple[MeasureTally, ...]:
    """Return the tallies kept in an assessment's JSON under `by_measure`; unknown keys are left alone."""
    names = {field.name for field in fields(MeasureTally)}
    return tuple(
        MeasureTally(**{key: value for key, value in row.items() if key in names})  # type: ignore[arg-type]
        for row in rows
    )


def _spot(rows: list[MeasureTally]) -> WeakSpot:
    visits, troubled = sum(row.visits for row in rows), sum(row.troubled for row in rows)
    chance = _posterior(troubled, visits)
    reached = np.cumsum(chance)
    trend, sure = _trend(rows)
    return WeakSpot(
        measure=rows[0].measure,
        hand=rows[0].hand,
        attempts=len(rows),
        visits=visits,
        troubled=troubled,
        share=float((chance * _GRID).sum()),
        low=float(_GRID[np.searchsorted(reached, 0.05)]),
        high=float(_GRID[np.searchsorted(reached, 0.95)]),
        certainty=float(chance[_GRID > WEAK].sum()),
        trend=trend,
        trend_certainty=sure,
        kinds=Counter({kind: sum(int(getattr(row, kind)) for row in rows) for kind in KINDS}),
    )


def _trend(rows: list[MeasureTally]) -> tuple[Trend, float]:
    if len(rows) < FEWEST_FOR_TREND:
        return "steady", 0.0
    half = len(rows) // 2
    earlier, later = (
        _posterior(sum(row.troubled for row in part), sum(row.visits for row in part))
        for part in (rows[:half], rows[half:])
    )
    below = np.cumsum(earlier) - earlier / 2
    worse = float((later * below).sum())
    if worse >= SURE:
        return "worse", worse
    return ("better", 1 - worse) if worse <= 1 - SURE else ("steady", 1 - 2 * abs(worse - 0.5))


def _posterior(troubled: int, visits: int) -> Floats:
    """Return the chance of trouble as a distribution over the grid."""
    before, after = PRIOR[0] + troubled, PRIOR[1] + visits - troubled
    density = np.exp((before - 1) * np.log(_GRID) + (after - 1) * np.log1p(-_GRID))
    return np.asarray(density / density.sum(), dtype=np.float64)
