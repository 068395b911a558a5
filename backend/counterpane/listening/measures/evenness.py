"""Evenness: how far notes stray from the local tempo.

Definition
    For each hand: the SD of inter-onset intervals (`ioi_sd_ms`, the headline) and of onsets (`onset_sd_ms`) about
    the local tempo, hesitations and new beginnings taken out as steps of the line. The tempo is fitted to both
    hands together (tempo_line.py), over as many passes as share one (stretches.py). For independent displacements
    of SD s of every onset, `onset_sd_ms` estimates s and `ioi_sd_ms` estimates s times the square root of two.
    `running`: stretches of at least eight equal notes a hand, cut after sixteen (two octaves): a regular scale
    (a straight line) is fitted to each, and the SD of the deviations from it and of its intervals is taken.
Unit
    Milliseconds; `share` is the SD of intervals as a share of each interval's note value.
Formula
    onset: sqrt(sum r^2 / sum (1 - h(i,i))) over notes and stretches, r the residuals, h the fit's hat matrix.
    interval: sqrt(2 sum e^2 / sum w), e = r(i+1) - r(i), w = 2 - h(i,i) - h(i+1,i+1) + 2 h(i,i+1). Both are
    exactly unbiased in the variance for independent displacements, however short the passage.
    running: onset sqrt(sum r^2 / (n - 2)); interval SD with n - 1, root mean square over stretches.
    `by_value`: for each written interval, played over expected length: 1.0 when the rhythm is kept. `in_pairs`:
    for intervals that go in twos, the mean length of the firsts over that of the seconds, with its standard error.
Conventions
    Chords, ornamented notes and notes after grace notes are left out; an interval needs both its notes next to
    each other in that hand. A stretch counts from eight usable notes of both hands, a hand from eight over all
    stretches.
Source
    van Vugt, Jabusch and Altenmüller (2012), doi 10.3389/fpsyg.2012.00495: deviations against a regular scale
    fitted to the data. Jabusch (2006): SD of intervals of professional scales. Friberg and Sundberg (1995): what
    is heard.
Differences from the sources
    The published measures are for scales alone; the fitted line here may bend with the tempo, which makes the
    figure for a scale played with a ritardando smaller than a straight line would give. `judged` compares with
    a limit between the professional and the plainly uneven (thresholds.py), which is ours.
What it cannot know
    The instrument's own delay and its clock's grain: a MIDI file with a grain of q ms adds an SD of q / sqrt(12).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from counterpane.listening.measures.deviations import usable_intervals
from counterpane.listening.measures.hand_line import HandLine
from counterpane.listening.measures.heard import Heard
from counterpane.listening.measures.shape import Measured, measured, unmeasured
from counterpane.listening.measures.sheet import Sheet
from counterpane.listening.measures.tempo_line import FEWEST_FOR_EVENNESS, Floats, Mask
from counterpane.listening.measures.thresholds import even_limit_ms, just_heard_ms
from counterpane.model.piece import Hand

UNIT = "ms"
LONGEST_STRETCH = 16
LONGEST_RUNNING_QUARTERS = 0.5
FEWEST_PAIRS = 6
TOO_FEW = "Too few plain notes to tell how even they are (at least 8 are needed)."


@dataclass(frozen=True)
class _Part:
    """One hand in one stretch of passes. Arrays have one entry a usable interval; `weights` are the formula's w.

    `pair_places` is as in `Sheet.pair_places`, for the note that begins the interval.
    """

    notes: int
    onset_squares: float
    onset_freedom: float
    displaced: int
    written: Floats
    expected: Floats
    strayed: Floats
    weights: Floats
    stretches: tuple[_Scale, ...]
    pair_places: Floats


@dataclass(frozen=True, slots=True)
class _Scale:
    """A running stretch of equal notes against the regular scale that fits it best; variances in ms squared."""

    notes: int
    onset_variance: float
    interval_variance: float
    interval_ms: float


def evenness(heard: Heard) -> Measured:
    """Return the SDs of intervals and onsets about the local tempo: both hands together, and each alone."""
    parts = {hand: list(_parts(heard, hand)) for hand in heard.sheet.hands}
    together = [part for row in parts.values() for part in row]
    return _summary(together) | {"by_hand": {hand: _summary(row) for hand, row in parts.items()}}


def _parts(heard: Heard, hand: Hand) -> Iterator[_Part]:
    for line in heard.hand_lines[hand]:
        if line.freedom > 0:
            yield _part(heard.sheet, line, usable_intervals(heard, hand, line))


def _part(sheet: Sheet, line: HandLine, usable: Mask) -> _Part:
    written = np.diff(line.onsets)[usable]
    middles = (line.along[1:] + line.along[:-1])[usable] / 2
    return _Part(
        notes=int(line.kept.sum()),
        onset_squares=float((line.residuals_ms[line.kept] ** 2).sum()),
        onset_freedom=line.freedom,
        displaced=int((~line.kept).sum()),
        written=written,
        expected=written * line.line.quarter_ms(middles),
        strayed=np.diff(line.residuals_ms)[usable],
        weights=line.interval_freedom[usable],
        stretches=tuple(_stretches(line.onsets, line.times_ms, usable)),
        pair_places=sheet.pair_places(line.onsets[:-1][usable], written),
    )


def _stretches(onsets: Floats, times: Floats, usable: Mask) -> Iterator[_Scale]:
    """Yield the running stretches: equal short notes side by side, eight at least, cut after sixteen."""
    written = np.diff(onsets)
    start = 0
    for index in range(1, len(onsets) + 1):
        joined = index < len(onsets) and bool(usable[index - 1])
        if joined and abs(written[index - 1] - written[start]) < 1e-6 and index - start < LONGEST_STRETCH:
            continue
        if index - start >= FEWEST_FOR_EVENNESS and written[start] <= LONGEST_RUNNING_QUARTERS:
            yield _against_scale(times[start:index])
        start = index - 1 if joined else index


def _against_scale(times: Floats) -> _Scale:
    count = len(times)
    rank = np.arange(count) - (count - 1) / 2
    slope = (rank @ times) / (rank @ rank)
    left = times - times.mean() - slope * rank
    return _Scale(count, float(left @ left / (count - 2)), float(np.diff(times).var(ddof=1)), float(slope))


def _summary(parts: list[_Part]) -> Measured:
    if sum(part.notes for part in parts) < FEWEST_FOR_EVENNESS or not any(part.strayed.size for part in parts):
        return unmeasured(UNIT, TOO_FEW)
    written, expected, strayed, weights, places = (
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("written", "expected", "strayed", "weights", "pair_places")
    )
    interval_sd = float(np.sqrt(2 * (strayed**2).sum() / weights.sum()))
    onset_squares = sum(part.onset_squares for part in parts)
    typical = float(np.median(expected))
    running = _running([scale for part in parts for scale in part.stretches])
    against = running or {"ioi_sd_ms": interval_sd, "interval_ms": typical}
    return measured(
        interval_sd,
        UNIT,
        len(strayed),
        ioi_sd_ms=interval_sd,
        onset_sd_ms=float(np.sqrt(onset_squares / sum(part.onset_freedom for part in parts))),
        share=float(np.sqrt(2 * ((strayed / expected) ** 2).sum() / weights.sum())),
        interval_ms=typical,
        just_heard_ms=just_heard_ms(typical),
        judged="even" if against["ioi_sd_ms"] <= even_limit_ms(against["interval_ms"]) else "uneven",
        running=running,
        by_value=_by_value(written, 1 + strayed / expected),
        in_pairs=_in_pairs(written, 1 + strayed / expected, places),
        displaced=sum(part.displaced for part in parts),
    )


def _running(scales: list[_Scale]) -> dict[str, float] | None:
    if not scales:
        return None
    freedom = sum(scale.notes - 2 for scale in scales)
    notes = sum(scale.notes for scale in scales)
    return {
        "stretches": len(scales),
        "notes": notes,
        "onset_sd_ms": (sum(s.onset_variance * (s.notes - 2) for s in scales) / freedom) ** 0.5,
        "ioi_sd_ms": (sum(s.interval_variance * (s.notes - 2) for s in scales) / freedom) ** 0.5,
        "interval_ms": sum(s.interval_ms * s.notes for s in scales) / notes,
    }


def _by_value(written: Floats, played: Floats) -> list[dict[str, float]]:
    """Return played over expected length for each written interval that occurs three times or more."""
    return [
        {"quarters": value, "notes": len(group), "ratio": float(group.mean()), "ratio_sd": float(group.std())}
        for value, here in _each_value(written)
        if len(group := played[here]) >= 3
    ]


def _in_pairs(written: Floats, played: Floats, places: Floats) -> list[dict[str, float]]:
    """Return firsts over seconds for each written interval with six of each."""
    rows = []
    for value, here in _each_value(written):
        first, second = (played[here & (places == place)] for place in (0, 1))
        pairs = min(len(first), len(second))
        if pairs >= FEWEST_PAIRS:
            error = math.sqrt(first.var(ddof=1) / len(first) + second.var(ddof=1) / len(second))
            ratio = float(first.mean() / max(second.mean(), 0.05))
            rows.append({"quarters": value, "pairs": pairs, "ratio": ratio, "error": error})
    return rows


def _each_value(written: Floats) -> Iterator[tuple[float, Mask]]:
    rounded = written.round(4)
    for value in np.unique(rounded).tolist():
        yield value, rounded == value
