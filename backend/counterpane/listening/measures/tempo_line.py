"""The local tempo: a smooth line of time over score position, with steps where the player paused.

Definition
    Onset times t (ms) over written onsets x (quarters) are modelled as smooth(x) + steps + noise.
    `smooth` is a straight line, a parabola or a cubic B-spline with equal segments. The number of segments is the
    one with the least n log(sum r^2 / n) + 3 p n / (n - p - 1): an information criterion with a penalty between
    Akaike's 2 and Schwarz's log n, raised for short passages. So a steady performance keeps a straight line (and
    loses two degrees of freedom) while drift and rubato are followed. No segment is shorter than
    `QUARTERS_A_SEGMENT` quarters, and every parameter has `NOTES_A_SEGMENT` notes: what changes faster is
    unevenness, not tempo. There are no more than `MOST_SEGMENTS`.
    A step is a pause (or a cut) before one note: everything after it comes later (or earlier) by its size. Where
    the steps are is found in time_steps.py, which passes share a line in stretches.py.
Unit
    Milliseconds; the slope of `smooth` is milliseconds a quarter.
Formula
    Residual SD = sqrt(sum r^2 / (n - p)), p the number of fitted parameters: unbiased in the variance for
    independent displacements of the onsets, whatever the tempo does within the model. Of the SD really drawn it
    misses by about sqrt(p / 2) / n of it, since what p parameters take up is not known: with 30 notes and a
    straight line 3 %, with 60 notes and three pauses 3 %. No fit without knowledge of the tempo does better.
Source
    Akaike (1974), Schwarz (1978), Hurvich and Tsai (1989) for the criterion and its small-sample factor; de Boor
    (1978), "A practical guide to splines", for the basis. The penalty of 3 is ours: of 2, log n and 3 it recovers
    a known SD best over steady, drifting and rubato playing together.
    Regression against a fitted regular grid as in van Vugt, Jabusch and Altenmüller (2012), doi
    10.3389/fpsyg.2012.00495; theirs is a straight line for scales only, ours bends.
What it cannot know
    A slow change of tempo that was meant from one that was not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
QUARTERS_A_SEGMENT = 2.0
NOTES_A_SEGMENT = 4
FEWEST_NOTES = 4
FEWEST_FOR_EVENNESS = 8
LINE, PARABOLA = -1, 0
_NOTES_A_SLIP = 50
_PENALTY = 3.0
# No instrument tells more exactly than that; it keeps exact performances from being sure of everything.
LEAST_SD_MS = 1.0
_BLOCK = 200_000
# More would cost minutes in an hour of playing; a segment is then as long as a phrase.
MOST_SEGMENTS = 256
_SEGMENTS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 64, 128)


@dataclass(frozen=True)
class TempoLine:
    """A fitted line: `times_ms` = the first of them + `design` @ `parameters` + `residuals_ms`.

    `breaks` are indices of the notes before which there is a step; `reach` holds the first and last written onset
    in quarters. `kept` tells which notes were fitted: single notes far off everything else are left out.
    """

    onsets: Floats
    times_ms: Floats
    residuals_ms: Floats
    design: Floats
    parameters: Floats
    kept: Mask
    breaks: tuple[int, ...]
    reach: tuple[float, float]
    segments: int

    @property
    def steps_ms(self) -> tuple[float, ...]:
        """By how much time stood still (or was cut) at each of the breaks."""
        return tuple(self.parameters[len(self.parameters) - len(self.breaks) :].tolist())

    @property
    def step_errors_ms(self) -> Floats:
        """The standard errors of the steps' sizes."""
        own = np.diag(np.linalg.inv(_gram(self.design[self.kept])))
        errors: Floats = max(self.sd_ms, LEAST_SD_MS) * np.sqrt(own[len(own) - len(self.breaks) :])
        return errors

    @cached_property
    def base(self) -> Floats:
        """An orthonormal base of the fit, a row a note; `base` @ `base`.T is its hat matrix, 0 where left out."""
        fitted = self.design[self.kept]
        root = np.linalg.inv(np.linalg.cholesky(_gram(fitted))).T
        rows = np.zeros_like(self.design)
        rows[self.kept] = np.vstack([block @ root for block in _blocks(fitted)])
        return rows

    @property
    def degrees_of_freedom(self) -> int:
        """Fitted notes minus fitted parameters."""
        return int(self.kept.sum()) - int(self.design.shape[1])

    @property
    def sd_ms(self) -> float:
        """SD of the onsets about the line in ms; 0 when nothing is left to tell."""
        free = self.degrees_of_freedom
        return float(np.sqrt((self.residuals_ms[self.kept] ** 2).sum() / free)) if free > 0 else 0.0

    def quarter_ms(self, onsets: Floats) -> Floats:
        """Return the local length of a quarter note in ms at written onsets; steps are left out."""
        first, last = self.reach
        half = min(0.25, (last - first) / 2)
        centre = np.clip(onsets, first + half, last - half)
        ahead, behind = (_basis(at, self.reach, self.segments) for at in (centre + half, centre - half))
        rise = (ahead - behind) @ self.parameters[: ahead.shape[1]]
        return np.maximum(rise / (2 * half), 1.0)


@dataclass
class Row:
    """Onsets (quarters, never falling) and their times (ms), to fit lines to; the bases laid over them are kept.

    Expects at least two notes. Notes marked as `second_hand` may come later or earlier than the others by a
    constant. The line has `most_segments` at the most.
    """

    onsets: Floats
    times_ms: Floats
    most_segments: int = MOST_SEGMENTS
    second_hand: Mask | None = None
    bases: dict[int, Floats] = field(default_factory=dict)

    @property
    def reach(self) -> tuple[float, float]:
        """First and last written onset in quarters."""
        return float(self.onsets[0]), float(self.onsets[-1])

    def fit(self, breaks: tuple[int, ...]) -> TempoLine:
        """Fit a line with steps before the notes `breaks`, choosing its number of segments.

        Notes more than five robust SDs (and more than 40 ms) off the line are left out and the line fitted again,
        if they are no more than one in fifty and one more: slips, not a habit.
        """
        line = self._best(breaks, np.ones(len(self.onsets), dtype=bool))
        far = np.abs(line.residuals_ms) > max(40.0, 5 * robust_sd(line.residuals_ms))
        if 0 < far.sum() <= 1 + len(self.onsets) // _NOTES_A_SLIP:
            return self._best(breaks, ~far)
        return line

    def _best(self, breaks: tuple[int, ...], kept: Mask) -> TempoLine:
        columns = self._columns(breaks)
        choices = self._choices(len(breaks))
        return min((self._fit(segments, breaks, columns, kept) for segments in choices), key=criterion)

    def _columns(self, breaks: tuple[int, ...]) -> Floats:
        """Return what stands beside the smooth line: how late the second hand is, and the steps."""
        hand = np.empty((len(self.onsets), 0)) if self.second_hand is None else self.second_hand[:, None]
        steps = np.arange(len(self.onsets))[:, None] >= np.asarray(breaks, dtype=np.int64)[None, :]
        return np.hstack([hand, steps], dtype=np.float64)

    def _fit(self, segments: int, breaks: tuple[int, ...], columns: Floats, kept: Mask) -> TempoLine:
        if segments not in self.bases:
            self.bases[segments] = _basis(self.onsets, self.reach, segments)
        design = np.hstack([self.bases[segments], columns])
        whole = bool(kept.all())
        since = self.times_ms - self.times_ms[0]
        parameters = _solve(design if whole else design[kept], since if whole else since[kept])
        left = since - design @ parameters
        return TempoLine(self.onsets, self.times_ms, left, design, parameters, kept, breaks, self.reach, segments)

    def _choices(self, breaks: int) -> list[int]:
        first, last = self.reach
        notes = len(self.onsets)
        room = min((last - first) / QUARTERS_A_SEGMENT, notes / NOTES_A_SEGMENT - 3 - breaks / 2)
        most = min(int(room), self.most_segments)
        few = [LINE, PARABOLA] if notes >= 2 * NOTES_A_SEGMENT and self.most_segments > LINE else [LINE]
        return few + [n for n in _SEGMENTS if n < most] + [most] * (most > 0)


def criterion(*lines: TempoLine) -> float:
    """Return the information criterion (module docstring) of a line, or of several as one model.

    Less is better. Where a further line begins is a parameter as well.
    """
    count = sum(int(line.kept.sum()) for line in lines)
    parameters = sum(line.design.shape[1] for line in lines) + len(lines) - 1
    squares = sum(float(((line.residuals_ms * line.kept) ** 2).sum()) for line in lines)
    # The floor (a tenth of a millisecond) keeps exact performances from buying parameters with rounding.
    fit = count * math.log(squares / count + 0.01)
    return float(fit + _PENALTY * parameters * count / max(1, count - parameters - 1))


def _basis(onsets: Floats, reach: tuple[float, float], segments: int) -> Floats:
    """Return one column a parameter: line, parabola, or the cardinal cubic B-splines of equal segments."""
    unit = (onsets - reach[0]) / max(reach[1] - reach[0], 1e-9)
    if segments <= PARABOLA:
        return np.vander(unit, 2 if segments == LINE else 3, increasing=True)
    scaled = unit * segments
    left = np.clip(np.floor(scaled).astype(int), 0, segments - 1)
    rows = np.arange(len(onsets))
    basis: Floats = np.zeros((len(onsets), segments + 3))
    for column in range(4):
        distance: Floats = np.abs(scaled - left - (column - 1))
        near: Floats = 2 / 3 - distance * distance * (1 - distance / 2)
        far: Floats = (2 - distance) * (2 - distance) * (2 - distance) / 6
        basis[rows, left + column] = np.where(distance < 1, near, far)
    return basis


def _solve(design: Floats, times_ms: Floats) -> Floats:
    return np.asarray(np.linalg.solve(_gram(design), design.T @ times_ms), dtype=np.float64)


def _gram(design: Floats) -> Floats:
    """Return the design's products with itself, the diagonal raised by a hair so that it can be solved."""
    width = design.shape[1]
    gram = np.zeros((width, width))
    for block in _blocks(design):
        gram += block.T @ block
    gram.flat[:: width + 1] += 1e-9 * np.trace(gram) / width
    return gram


def _blocks(design: Floats) -> list[Floats]:
    """Return the rows in blocks too small for numpy to start threads on, which here would only wait."""
    parts = 1 + design.size * design.shape[1] // _BLOCK
    return np.array_split(design, parts) if parts > 1 else [design]


def robust_sd(values: Floats) -> float:
    """Return the SD that the median deviation stands for, were the values normal."""
    return 1.4826 * _median(np.abs(values - _median(values)))


def _median(values: Floats) -> float:
    """Return the median of a few numbers, many times as quickly as numpy's own."""
    ordered, count = np.sort(values), len(values)
    return float(ordered[count // 2] + ordered[(count - 1) // 2]) / 2
