"""The local tempo: a smooth line of time over score position, with steps where the player paused.

Definition
    Onset times t (ms) over written onsets x (quarters) of one pass are modelled as smooth(x) + steps + noise.
    `smooth` is a straight line, a parabola or a cubic B-spline with equal segments; the number of segments is
    chosen by the Bayesian information criterion (its penalty raised by n / (n - p - 1), for short passages), so
    that a steady performance keeps a straight line (and loses no more than two degrees of freedom) while drift and
    rubato are followed. No segment is shorter than `QUARTERS_A_SEGMENT` quarters, and every parameter has
    `NOTES_A_SEGMENT` notes: what changes faster is unevenness, not tempo.
    A step is a pause (or a cut) before one note: everything after it comes later (or earlier) by its size.
Unit
    Milliseconds; the slope of `smooth` is milliseconds a quarter.
Formula
    Residual SD = sqrt(sum r^2 / (n - p)), p the number of fitted parameters: unbiased in the variance for
    independent displacements of the onsets, whatever the tempo does within the model.
Source
    Schwarz (1978), "Estimating the dimension of a model" (the criterion); de Boor (1978), "A practical guide
    to splines" (the basis). Regression against a fitted regular grid as in van Vugt, Jabusch and Altenmüller
    (2012), doi 10.3389/fpsyg.2012.00495; theirs is a straight line for scales only, ours bends.
What it cannot know
    A slow change of tempo that was meant from one that was not; a pause shorter than the unevenness around it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from counterpane.listening.measures.thresholds import hesitation_limit_ms

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
QUARTERS_A_SEGMENT = 2.0
NOTES_A_SEGMENT = 6
FEWEST_NOTES = 4
_LINE, _PARABOLA = -1, 0
_WINDOW = 8
_SURE = 4.0


@dataclass(frozen=True)
class TempoLine:
    """A fitted line. `breaks` are indices of the notes before which a step was allowed, `steps_ms` its sizes.

    `residuals_ms` are played minus fitted; `reach` holds the first and last written onset in quarters.
    `kept` tells which notes were fitted: single notes far off everything else are left out.
    """

    onsets: Floats
    residuals_ms: Floats
    design: Floats
    kept: Mask
    breaks: tuple[int, ...]
    steps_ms: tuple[float, ...]
    reach: tuple[float, float]
    segments: int
    coefficients: Floats

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
        ahead = _basis(centre + half, self.reach, self.segments) @ self.coefficients
        behind = _basis(centre - half, self.reach, self.segments) @ self.coefficients
        return np.maximum((ahead - behind) / (2 * half), 1.0)


def fit_line(
    onsets: Floats, times_ms: Floats, breaks: tuple[int, ...] = (), most_segments: int | None = None
) -> TempoLine:
    """Fit a line to increasing written onsets (quarters) and their times (ms), with steps before `breaks`.

    Expects at least `FEWEST_NOTES` notes. Notes more than five robust SDs (and more than 40 ms) off the line
    are left out and the line fitted again, at most one note in ten. `most_segments` limits its bending.
    """
    kept = np.ones(len(onsets), dtype=bool)
    choices = _candidate_segments(onsets, len(breaks), most_segments)
    line = _fit_kept(onsets, times_ms, breaks, kept, choices)
    far = np.abs(line.residuals_ms) > max(40.0, 5 * _robust_sd(line.residuals_ms))
    if 0 < far.sum() <= len(onsets) // 10:
        line = _fit_kept(onsets, times_ms, breaks, ~far, choices)
    return line


def find_line(onsets: Floats, times_ms: Floats) -> TempoLine:
    """Fit a line and find the steps in it: pauses and cuts that are long, and surer than chance."""
    breaks = _candidates(onsets, times_ms)
    line = fit_line(onsets, times_ms, breaks)
    while breaks:
        sure = _sure_breaks(line)
        if sure == breaks:
            break
        breaks = sure
        line = fit_line(onsets, times_ms, breaks)
    return line


def _fit_kept(
    onsets: Floats, times_ms: Floats, breaks: tuple[int, ...], kept: Mask, choices: list[int]
) -> TempoLine:
    reach = (float(onsets[0]), float(onsets[-1]))
    steps = (np.arange(len(onsets))[:, None] >= np.asarray(breaks, dtype=int)[None, :]).astype(float)
    best: tuple[float, int, Floats, Floats] | None = None
    for segments in choices:
        design = np.hstack([_basis(onsets, reach, segments), steps])
        coefficients = _solve(design[kept], times_ms[kept])
        left = times_ms - design @ coefficients
        count = int(kept.sum())
        mean_square = float((left[kept] ** 2).sum()) / count
        # The floor (a tenth of a millisecond) keeps exact performances from buying parameters with rounding.
        parameters = design.shape[1]
        penalty = parameters * np.log(count) * count / max(1, count - parameters - 1)
        cost = count * np.log(mean_square + 0.01) + penalty
        if best is None or cost < best[0]:
            best = (cost, segments, design, coefficients)
    assert best is not None
    _, segments, design, coefficients = best
    smooth = design.shape[1] - len(breaks)
    return TempoLine(
        onsets,
        times_ms - design @ coefficients,
        design,
        kept,
        breaks,
        tuple(coefficients[smooth:].tolist()),
        reach,
        segments,
        coefficients[:smooth],
    )


def _candidate_segments(onsets: Floats, breaks: int, limit: int | None) -> list[int]:
    reach = onsets[-1] - onsets[0]
    most = int(min(reach / QUARTERS_A_SEGMENT, len(onsets) / NOTES_A_SEGMENT - 3 - breaks / 2))
    if limit is not None:
        most = min(most, limit)
    choices = [_LINE, _PARABOLA] if len(onsets) >= 2 * NOTES_A_SEGMENT else [_LINE]
    return choices + [n for n in (1, 2, 4, 8, 16, 32, 64, 128) if n < most] + [most] * (most > 0)


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
    gram = design.T @ design
    gram[np.diag_indices_from(gram)] += 1e-9 * np.trace(gram) / len(gram)
    return np.asarray(np.linalg.solve(gram, design.T @ times_ms), dtype=np.float64)


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
    largest = np.argsort(-np.abs(extra))[: max(0, (len(onsets) - 3) // 2)]
    return tuple(sorted(int(index) + 1 for index in largest if excess[index] > 0))


def _sure_breaks(line: TempoLine) -> tuple[int, ...]:
    quarter = line.quarter_ms(line.onsets)
    written = np.diff(line.onsets)
    noise = max(line.sd_ms, 1.0)
    kept = []
    for index, step in zip(line.breaks, line.steps_ms, strict=True):
        limit = hesitation_limit_ms(written[index - 1] * quarter[index], quarter[index])
        if abs(step) >= limit and abs(step) >= _SURE * noise:
            kept.append(index)
    return tuple(kept)


def _running_median(values: Floats) -> Floats:
    if len(values) <= _WINDOW:
        return np.full(len(values), np.median(values))
    padded = np.pad(values, _WINDOW, mode="reflect")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * _WINDOW + 1), axis=1)


def _robust_sd(values: Floats) -> float:
    return float(1.4826 * np.median(np.abs(values - np.median(values))))
