"""Evenness: how far notes stray from the local tempo.

Definition
    For each hand, within each pass: the SD of inter-onset intervals (`ioi_sd_ms`, the headline) and of onsets
    (`onset_sd_ms`) about the locally fitted tempo line (tempo_line.py), hesitations taken out as steps of the
    line. For independent displacements of SD s of every onset, `onset_sd_ms` estimates s and `ioi_sd_ms`
    estimates s times the square root of two.
    `running`: stretches of at least eight equal notes a hand, cut after sixteen (two octaves): a regular scale
    (a straight line) is fitted to each, and the SD of the deviations from it and of its intervals is taken.
Unit
    Milliseconds; `share` is the SD of intervals as a share of each interval's note value.
Formula
    onset: sqrt(sum r^2 / sum (n - p)) over passes, r the residuals, p the fitted parameters.
    interval: sqrt(2 sum e^2 / sum w), e = r(i+1) - r(i), w = 2 - h(i,i) - h(i+1,i+1) + 2 h(i,i+1), h the fit's
    hat matrix: exactly unbiased in the variance for independent displacements, however short the passage.
    running: onset sqrt(sum r^2 / (n - 2)); interval SD with n - 1, root mean square over stretches.
    `by_value`: for each written interval, played over expected length: 1.0 when the rhythm is kept.
Conventions
    Chords, ornamented notes and notes after grace notes are left out; an interval needs both its notes next to
    each other in that hand. At least eight usable notes in a pass.
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

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from counterpane.listening.measures.heard import Heard, Pass
from counterpane.listening.measures.shape import Measured, measured, unmeasured
from counterpane.listening.measures.tempo_line import FEWEST_FOR_HAND, Floats, Mask, TempoLine
from counterpane.listening.measures.thresholds import even_limit_ms, just_heard_ms
from counterpane.model.piece import Hand

UNIT = "ms"
LONGEST_STRETCH = 16
TOO_FEW = "Too few plain notes in one go to tell how even they are (at least 8 are needed)."


@dataclass
class _Sums:
    """Squares gathered over passes and hands; intervals carry what their fit leaves of each (w in the formula)."""

    onset_squares: float = 0.0
    onset_freedom: int = 0
    squares: list[Floats] = field(default_factory=list)
    relative_squares: list[Floats] = field(default_factory=list)
    weights: list[Floats] = field(default_factory=list)
    expected: list[Floats] = field(default_factory=list)
    ratios: dict[float, list[float]] = field(default_factory=lambda: defaultdict(list))
    stretches: list[tuple[float, float, float, int]] = field(default_factory=list)
    displaced: int = 0

    def add(self, other: _Sums) -> None:
        """Take another's sums in."""
        self.onset_squares += other.onset_squares
        self.onset_freedom += other.onset_freedom
        self.squares += other.squares
        self.relative_squares += other.relative_squares
        self.weights += other.weights
        self.expected += other.expected
        self.stretches += other.stretches
        self.displaced += other.displaced
        for value, ratios in other.ratios.items():
            self.ratios[value] += ratios


def evenness(heard: Heard) -> Measured:
    """Return the SDs of intervals and onsets about the local tempo: both hands together, and each alone."""
    whole = _Sums()
    by_hand: dict[str, Measured] = {}
    for hand in heard.sheet.hands:
        sums = _Sums()
        for one in heard.passes:
            _gather(heard, one, hand, sums)
        by_hand[hand] = _summary(sums)
        whole.add(sums)
    return _summary(whole) | {"by_hand": by_hand}


@dataclass(frozen=True, slots=True)
class Spread:
    """SD of one hand's intervals in one measure about the local tempo, over all passes."""

    measure: int
    sd_ms: float
    intervals: int


@dataclass(frozen=True, slots=True)
class Deviation:
    """One note against the local tempo: `ms` late (negative: early), `interval_ms` expected since the last note.

    `strayed_ms` is how much longer that interval was than expected, or None where a pause or a gap lies before.
    """

    hand: Hand
    onset: float
    ms: float
    interval_ms: float
    strayed_ms: float | None


def deviations(heard: Heard) -> list[Deviation]:
    """Return every usable note's deviation, pass by pass and hand by hand."""
    rows = []
    for one in heard.passes:
        for hand in heard.sheet.hands:
            fitted = heard.hand_line(one, hand)
            if fitted is not None:
                rows += _deviations_from(heard, hand, fitted[0])
    return rows


def _deviations_from(heard: Heard, hand: Hand, line: TempoLine) -> list[Deviation]:
    expected = np.diff(line.onsets, prepend=2 * line.onsets[0] - line.onsets[1]) * line.quarter_ms(line.onsets)
    strayed = [None, *np.diff(line.residuals_ms).tolist()]
    usable = [False, *_intervals(heard, hand, line).tolist()]
    return [
        Deviation(hand, onset, ms, interval, e if counts else None)
        for onset, ms, interval, e, counts in zip(
            line.onsets.tolist(), line.residuals_ms.tolist(), expected.tolist(), strayed, usable, strict=True
        )
    ]


def measure_spreads(heard: Heard, hand: Hand) -> list[Spread]:
    """Return the SD of one hand's intervals in each measure that has a usable one."""
    squares: dict[int, list[float]] = defaultdict(list)
    for one in deviations(heard):
        if one.hand == hand and one.strayed_ms is not None:
            squares[heard.sheet.measure_number(one.onset)].append(one.strayed_ms**2)
    return [
        Spread(number, (sum(group) / len(group)) ** 0.5, len(group)) for number, group in sorted(squares.items())
    ]


def _gather(heard: Heard, one: Pass, hand: Hand, sums: _Sums) -> None:
    fitted = heard.hand_line(one, hand)
    if fitted is None:
        return
    line, times = fitted
    usable = _intervals(heard, hand, line)
    sums.displaced += int((~line.kept).sum())
    sums.onset_squares += float((line.residuals_ms[line.kept] ** 2).sum())
    sums.onset_freedom += line.degrees_of_freedom
    written = np.diff(line.onsets)[usable]
    expected = (written * line.quarter_ms((line.onsets[1:] + line.onsets[:-1])[usable] / 2)).astype(float)
    strayed = np.diff(line.residuals_ms)[usable]
    sums.squares.append(strayed**2)
    sums.relative_squares.append((strayed / expected) ** 2)
    sums.weights.append(_left_by_fit(line)[usable])
    sums.expected.append(expected)
    for value, ratio in zip(written.round(4).tolist(), (1 + strayed / expected).tolist(), strict=True):
        sums.ratios[value].append(ratio)
    sums.stretches += _stretches(line.onsets, times, usable)


def _intervals(heard: Heard, hand: Hand, line: TempoLine) -> Mask:
    """Tell which intervals join neighbouring notes of the hand, with no pause and no displaced note between."""
    written = heard.sheet.rank_in_hand[hand]
    ranks = np.array([written[onset] for onset in line.onsets.tolist()])
    usable: Mask = (np.diff(ranks) == 1) & line.kept[1:] & line.kept[:-1]
    usable[[index - 1 for index in line.breaks]] = False
    return usable


def _left_by_fit(line: TempoLine) -> Floats:
    """Return, for each interval, the share of a displacement's variance (2 without a fit) that the fit leaves."""
    base, _ = np.linalg.qr(line.design[line.kept])
    rows = np.zeros_like(line.design)
    rows[line.kept] = base
    own = (rows**2).sum(axis=1)
    shared = (rows[1:] * rows[:-1]).sum(axis=1)
    left: Floats = 2 - own[1:] - own[:-1] + 2 * shared
    return left


def _stretches(onsets: Floats, times: Floats, usable: Mask) -> Iterator[tuple[float, float, float, int]]:
    """Yield onset variance, interval variance, mean interval (ms) and notes of each stretch of equal notes."""
    written = np.diff(onsets)
    start = 0
    for index in range(1, len(onsets) + 1):
        if (
            index < len(onsets)
            and usable[index - 1]
            and abs(written[index - 1] - written[start]) < 1e-6
            and index - start < LONGEST_STRETCH
        ):
            continue
        if index - start >= FEWEST_FOR_HAND and written[start] <= 0.5:
            yield _regular_scale(times[start:index])
        start = index if index >= len(onsets) or not usable[index - 1] else index - 1


def _regular_scale(times: Floats) -> tuple[float, float, float, int]:
    count = len(times)
    rank = np.arange(count) - (count - 1) / 2
    slope = (rank @ times) / (rank @ rank)
    left = times - times.mean() - slope * rank
    return float(left @ left / (count - 2)), float(np.diff(times).var(ddof=1)), float(slope), count


def _summary(sums: _Sums) -> Measured:
    if not sums.squares or sums.onset_freedom <= 0 or not sum(part.size for part in sums.squares):
        return unmeasured(UNIT, TOO_FEW)
    squares, relative, weights, expected = (
        np.concatenate(parts) for parts in (sums.squares, sums.relative_squares, sums.weights, sums.expected)
    )
    interval_sd = float(np.sqrt(2 * squares.sum() / weights.sum()))
    typical = float(np.median(expected))
    running = _running(sums.stretches)
    against = running or {"ioi_sd_ms": interval_sd, "interval_ms": typical}
    return measured(
        interval_sd,
        UNIT,
        len(squares),
        ioi_sd_ms=interval_sd,
        onset_sd_ms=float(np.sqrt(sums.onset_squares / sums.onset_freedom)),
        share=float(np.sqrt(2 * relative.sum() / weights.sum())),
        interval_ms=typical,
        just_heard_ms=just_heard_ms(typical),
        judged="even" if against["ioi_sd_ms"] <= even_limit_ms(against["interval_ms"]) else "uneven",
        running=running,
        by_value=_by_value(sums.ratios),
        displaced=sums.displaced,
    )


def _running(stretches: Sequence[tuple[float, float, float, int]]) -> dict[str, float] | None:
    if not stretches:
        return None
    onset, interval, mean, counts = (np.array(column, dtype=float) for column in zip(*stretches, strict=True))
    return {
        "stretches": len(stretches),
        "notes": int(counts.sum()),
        "onset_sd_ms": float(np.sqrt(np.average(onset, weights=counts - 2))),
        "ioi_sd_ms": float(np.sqrt(np.average(interval, weights=counts - 2))),
        "interval_ms": float(np.average(mean, weights=counts)),
    }


def _by_value(ratios: dict[float, list[float]]) -> list[dict[str, float]]:
    return [
        {"quarters": value, "notes": len(group), "ratio": float(np.mean(group)), "ratio_sd": float(np.std(group))}
        for value, group in sorted(ratios.items())
        if len(group) >= 3
    ]
