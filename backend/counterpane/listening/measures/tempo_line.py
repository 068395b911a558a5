"""The local tempo: a smooth line of time over score position, with steps where the player paused.

Definition
    Onset times t (ms) over written onsets x (quarters) of one pass are modelled as smooth(x) + steps + noise.
    `smooth` is a straight line, a parabola or a cubic B-spline with equal segments. The number of segments is the
    one with the least n log(sum r^2 / n) + 3 p n / (n - p - 1): an information criterion with a penalty between
    Akaike's 2 and Schwarz's log n, raised for short passages. So a steady performance keeps a straight line (and
    loses two degrees of freedom) while drift and rubato are followed. No segment is shorter than
    `QUARTERS_A_SEGMENT` quarters, and every parameter has `NOTES_A_SEGMENT` notes: what changes faster is
    unevenness, not tempo.
    A step is a pause (or a cut) before one note: everything after it comes later (or earlier) by its size. It is
    kept when it is half a hesitation at least (thresholds.py) and `_SURE` of its own standard errors.
Unit
    Milliseconds; the slope of `smooth` is milliseconds a quarter.
Formula
    Residual SD = sqrt(sum r^2 / (n - p)), p the number of fitted parameters: unbiased in the variance for
    independent displacements of the onsets, whatever the tempo does within the model. Of the SD really drawn it
    misses by about sqrt(p / 2) / n of it, since what p parameters take up is not known: with 30 notes and a
    straight line 3 %, with 60 notes and three pauses 3 %. No fit without knowledge of the tempo does better.
Source
    Akaike (1974), Schwarz (1978), Hurvich and Tsai (1989) for the criterion and its small-sample factor; de Boor
    (1978), "A practical guide to splines", for the basis; Draper and Smith (1998), "Applied regression analysis",
    for adding and dropping one column at a time. The penalty of 3 is ours: of 2, log n and 3 it
    recovers a known SD best over steady, drifting and rubato playing together.
    Regression against a fitted regular grid as in van Vugt, Jabusch and Altenmüller (2012), doi
    10.3389/fpsyg.2012.00495; theirs is a straight line for scales only, ours bends.
What it cannot know
    A slow change of tempo that was meant from one that was not; a pause shorter than the unevenness around it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from counterpane.listening.measures.thresholds import hesitation_limit_ms

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
QUARTERS_A_SEGMENT = 2.0
NOTES_A_SEGMENT = 4
FEWEST_NOTES = 4
FEWEST_FOR_EVENNESS = 8
_LINE, _PARABOLA = -1, 0
_WINDOW = 8
# In standard errors: of a few hundred places, one attempt in five hundred would show such a step by chance.
_SURE = 4.5
_LEAST_SD_MS = 1.0
# Of a step's own sum of squares; below it the line can follow the step, and the two cannot be told apart.
_LEAST_ROOM = 0.1
_NOTES_A_STEP = 6
_NOTES_A_SLIP = 50
_PENALTY = 3.0
_BLOCK = 200_000
_SEGMENTS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 64, 128)


@dataclass(frozen=True)
class TempoLine:
    """A fitted line: `times_ms` = `design` @ `parameters` + `residuals_ms`.

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

    @cached_property
    def base(self) -> Floats:
        """An orthonormal base of the fit, a row a note; `base` @ `base`.T is its hat matrix, 0 where left out."""
        rows = np.zeros_like(self.design)
        rows[self.kept] = np.linalg.qr(self.design[self.kept])[0]
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


def fit_line(
    onsets: Floats,
    times_ms: Floats,
    breaks: tuple[int, ...] = (),
    *,
    segments: int | None = None,
    second_hand: Mask | None = None,
) -> TempoLine:
    """Fit a line to written onsets (quarters, in order) and their times (ms), with steps before `breaks`.

    Expects at least `FEWEST_NOTES` notes. Notes more than five robust SDs (and more than 40 ms) off the line
    are left out and the line fitted again, if they are no more than one in fifty and one more: slips, not a
    habit. `segments` is as found by another line of the same playing; notes marked as `second_hand` may come later
    or earlier than the others by a constant.
    """
    return _Row(onsets, times_ms, segments, second_hand).fit(breaks)


def find_line(onsets: Floats, times_ms: Floats) -> TempoLine:
    """Fit a line and find the steps in it: pauses and cuts that are long, and surer than chance.

    The intervals that stand out are tried first; then, one at a time, the step that would explain most of what
    is left. Where the notes on both sides are many, that finds pauses which no single interval shows.
    """
    row = _Row(onsets, times_ms)
    line = row.fit(_candidates(onsets, times_ms))
    while (sure := _sure_breaks(line)) != line.breaks:
        line = row.fit(sure)
    while (longer := _with_overlooked(row, line)) is not None:
        line = longer
    return line


@dataclass
class _Row:
    """The notes of one fit, and the bases that were laid over them so far."""

    onsets: Floats
    times_ms: Floats
    segments: int | None = None
    second_hand: Mask | None = None
    bases: dict[int, Floats] = field(default_factory=dict)

    @property
    def reach(self) -> tuple[float, float]:
        return float(self.onsets[0]), float(self.onsets[-1])

    def fit(self, breaks: tuple[int, ...]) -> TempoLine:
        """Choose the number of segments, fit, and fit again without notes far off the line."""
        line = self._best(breaks, np.ones(len(self.onsets), dtype=bool))
        far = np.abs(line.residuals_ms) > max(40.0, 5 * _robust_sd(line.residuals_ms))
        if 0 < far.sum() <= 1 + len(self.onsets) // _NOTES_A_SLIP:
            return self._best(breaks, ~far)
        return line

    def _best(self, breaks: tuple[int, ...], kept: Mask) -> TempoLine:
        return min((self._fit(segments, breaks, kept) for segments in self._choices(len(breaks))), key=_cost)

    def _fit(self, segments: int, breaks: tuple[int, ...], kept: Mask) -> TempoLine:
        if segments not in self.bases:
            self.bases[segments] = _basis(self.onsets, self.reach, segments)
        design = self.bases[segments]
        if self.second_hand is not None:
            design = np.hstack([design, self.second_hand[:, None].astype(float)])
        if breaks:
            steps = np.arange(len(self.onsets))[:, None] >= np.asarray(breaks)[None, :]
            design = np.hstack([design, steps.astype(float)])
        whole = bool(kept.all())
        parameters = _solve(design if whole else design[kept], self.times_ms if whole else self.times_ms[kept])
        left = self.times_ms - design @ parameters
        return TempoLine(self.onsets, self.times_ms, left, design, parameters, kept, breaks, self.reach, segments)

    def _choices(self, breaks: int) -> list[int]:
        if self.segments is not None:
            return [self.segments]
        reach = self.onsets[-1] - self.onsets[0]
        notes = len(self.onsets)
        most = int(min(reach / QUARTERS_A_SEGMENT, notes / NOTES_A_SEGMENT - 3 - breaks / 2))
        choices = [_LINE, _PARABOLA] if notes >= 2 * NOTES_A_SEGMENT else [_LINE]
        return choices + [n for n in _SEGMENTS if n < most] + [most] * (most > 0)


def _cost(line: TempoLine) -> float:
    """Return the information criterion of a line (module docstring), the less the better."""
    count = int(line.kept.sum())
    parameters = line.design.shape[1]
    squares = float(((line.residuals_ms * line.kept) ** 2).sum())
    # The floor (a tenth of a millisecond) keeps exact performances from buying parameters with rounding.
    fit = count * math.log(squares / count + 0.01)
    return float(fit + _PENALTY * parameters * count / max(1, count - parameters - 1))


def _basis(onsets: Floats, reach: tuple[float, float], segments: int) -> Floats:
    """Return one column a parameter: line, parabola, or the cardinal cubic B-splines of equal segments."""
    unit = (onsets - reach[0]) / max(reach[1] - reach[0], 1e-9)
    if segments <= _PARABOLA:
        return np.vander(unit, 2 if segments == _LINE else 3, increasing=True)
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
    """Return the design's products with itself, in blocks too small for numpy to start threads that only wait."""
    width = design.shape[1]
    blocks = np.array_split(design, 1 + design.size * width // _BLOCK)
    gram: Floats = sum((block.T @ block for block in blocks), np.zeros((width, width)))
    gram[np.diag_indices(width)] += 1e-9 * np.trace(gram) / width
    return gram


def _candidates(onsets: Floats, times_ms: Floats) -> tuple[int, ...]:
    """Return indices of notes that come much later or earlier than the local tempo has them."""
    written = np.diff(onsets)
    played = np.diff(times_ms)
    local = _running_median(played / written)
    extra = played - written * local
    spread = 3 * _robust_sd(extra)
    limits = np.array([hesitation_limit_ms(w * q, q) for w, q in zip(written, local, strict=True)])
    # Half the limit: the joint fit decides, and it estimates a step better than one interval can.
    excess = np.abs(extra) - np.maximum(limits / 2, spread)
    largest = np.argsort(-np.abs(extra))[: _most_breaks(onsets)]
    return tuple(sorted(int(index) + 1 for index in largest if excess[index] > 0))


def _most_breaks(onsets: Floats) -> int:
    return 1 + len(onsets) // _NOTES_A_STEP


def hesitation_limits(line: TempoLine) -> list[float]:
    """Return, for each step of a line, the size in ms from which it is a hesitation (or a cut) worth naming."""
    quarter = line.quarter_ms(line.onsets)
    written = np.diff(line.onsets)
    return [hesitation_limit_ms(written[index - 1] * quarter[index], quarter[index]) for index in line.breaks]


def _sure_breaks(line: TempoLine) -> tuple[int, ...]:
    """Keep steps surer than chance; half a hesitation is no fault to be named, but no unevenness either."""
    if not line.breaks:
        return ()
    own = np.diag(np.linalg.inv(_gram(line.design[line.kept])))[-len(line.breaks) :]
    errors = max(line.sd_ms, _LEAST_SD_MS) * np.sqrt(own)
    rows = zip(line.breaks, line.steps_ms, hesitation_limits(line), errors.tolist(), strict=True)
    found = [index for index, step, limit, error in rows if abs(step) >= max(limit / 2, _SURE * error)]
    return tuple(index for index in found if not _is_one_note(line, index))


def _with_overlooked(row: _Row, line: TempoLine) -> TempoLine | None:
    """Return the line with one more step, or None when no step is both sure and worth its parameter.

    A bent line hides a step by following it, so the step is looked for beside a straight one too.
    """
    if len(line.breaks) >= _most_breaks(line.onsets):
        return None
    straight = replace(row, segments=_LINE).fit(line.breaks)
    for index in dict.fromkeys((_likeliest_step(line), _likeliest_step(straight))):
        if index is not None:
            longer = row.fit(tuple(sorted((*line.breaks, index))))
            if _sure_breaks(longer) == longer.breaks and _cost(longer) < _cost(line):
                return longer
    return None


def _likeliest_step(line: TempoLine) -> int | None:
    """Return the note before which one more step would take most off the residuals, if that is sure.

    The step's column is 1 from the note on; what the fit already holds of it is projected out (formula: r the
    residuals, s the column, Q the fit's base: (s r)^2 / (s s - |Q s|^2) is taken off the sum of squares).
    """
    explained = np.cumsum((line.residuals_ms * line.kept)[::-1])[::-1]
    shared = np.cumsum(line.base[::-1], axis=0)[::-1]
    room = np.cumsum(line.kept[::-1])[::-1] - (shared**2).sum(axis=1)
    score = np.abs(explained) / np.sqrt(np.maximum(room, _LEAST_ROOM))
    best = int(np.argmax(score[1:])) + 1
    return best if score[best] >= _SURE * max(line.sd_ms, _LEAST_SD_MS) else None


def _is_one_note(line: TempoLine, index: int) -> bool:
    """Tell whether a step and one next to it undo each other: a single note was out of place, not the time."""
    steps = dict(zip(line.breaks, line.steps_ms, strict=True))
    own = steps[index]
    return any(
        own * steps.get(beside, 0.0) < 0 and abs(own + steps[beside]) < 0.5 * abs(own)
        for beside in (index - 1, index + 1)
    )


def _running_median(values: Floats) -> Floats:
    if len(values) <= _WINDOW:
        return np.full(len(values), np.median(values))
    padded = np.pad(values, _WINDOW, mode="reflect")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * _WINDOW + 1), axis=1)


def _robust_sd(values: Floats) -> float:
    return float(1.4826 * np.median(np.abs(values - np.median(values))))
