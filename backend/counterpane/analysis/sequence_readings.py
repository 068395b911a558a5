"""One way to hear a stretch as a sequence: which lines, which period, how many copies, on how much evidence.

Counting: the model starts where the run starts, or on the next beat; a last copy that is incomplete or altered
counts when half of it follows the model from its head, or when more of its notes agree than chance would give (a
binomial test at three in a hundred; a note agrees by chance about once in five, as measured on free counterpoint).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence as Many
from dataclasses import dataclass
from math import comb

from counterpane.analysis.sequence_runs import Run
from counterpane.analysis.steps import Line

_CHANCE = 0.2
_RARE = 0.03
_INNER_SHARE = 0.7
_LAST_SHARE = 0.3
_MATCH_BITS = 3.0
_MISS_BITS = 4.0
_MISS_BITS_LAST = 1.0
_NAMING_BITS = 12.0
_TWO_COPIES = 0.6


@dataclass(frozen=True)
class Track:
    """A line as lists, which are quicker than arrays for a few notes at a time; `step_at` is keyed by onset."""

    onsets: list[int]
    ends: list[int]
    step_at: dict[int, int]

    def window(self, start: int, end: int) -> tuple[int, int]:
        """Return the range of indices of the notes that begin in [start, end) ticks."""
        return bisect_left(self.onsets, start), bisect_left(self.onsets, end)


def track_of(line: Line) -> Track:
    """Return `line` as lists."""
    onsets = line.onset.tolist()
    return Track(onsets, line.end.tolist(), dict(zip(onsets, line.step.tolist(), strict=True)))


@dataclass(frozen=True)
class Reading:
    """Runs of one period and step heard as one sequence of `count` copies from `start` on (ticks).

    `model_notes` are the notes of the model in all lines; `bits` what the reading saves over writing every
    note down.
    """

    runs: tuple[Run, ...]
    start: int
    count: int
    model_notes: int
    matched: int
    missed: int
    bits: float

    @property
    def period(self) -> int:
        """Ticks from copy to copy."""
        return self.runs[0].period

    @property
    def step(self) -> int:
        """Scale steps from copy to copy."""
        return self.runs[0].step

    @property
    def end(self) -> int:
        """Where the last copy would end (ticks)."""
        return self.start + self.count * self.period

    @property
    def rank(self) -> float:
        """What the reading weighs against others of the same notes: two copies say less than three."""
        return self.bits * (_TWO_COPIES if self.count == 2 else 1.0)


@dataclass(frozen=True)
class Agreement:
    """How one copy follows the one before: notes of the model, of them matched, matched in a row from the head."""

    notes: int
    matched: int
    head: int


@dataclass(frozen=True)
class _Frame:
    """Where copies lie: start of the model, period, step, and the span to the end of the model's last note."""

    start: int
    period: int
    step: int
    span: int


def read_runs(tracks: Many[Track], runs: tuple[Run, ...], beat: int) -> Reading | None:
    """Return the best reading of runs that share period and step, or None when they hold fewer than two copies.

    The model may start where any of the runs does, or on the next beat (ticks): a note or two before it often
    agree by chance.
    """
    starts = {run.start for run in runs}
    starts |= {start + -start % beat for start in starts if -start % beat <= runs[0].period // 2}
    readings = [reading for start in sorted(starts) if (reading := _read_from(tracks, runs, start)) is not None]
    return max(readings, key=lambda r: (r.bits, r.start % beat == 0), default=None)


def _read_from(tracks: Many[Track], runs: tuple[Run, ...], start: int) -> Reading | None:
    used = [tracks[run.line] for run in runs]
    period = runs[0].period
    frame = _Frame(start, period, runs[0].step, max(_span(track, start, period) for track in used))
    copies: list[Agreement] = []
    singly: list[list[Agreement]] = [[] for _ in used]
    full = max(1, (max(run.end for run in runs) - start) // period)
    while True:
        alone, together = _agreements(used, frame, len(copies) + 1)
        if len(copies) + 1 >= full and not _follows(together):
            break
        copies.append(together)
        for agreements, agreement in zip(singly, alone, strict=True):
            agreements.append(agreement)
    if not copies or not all(_keeps_up(agreements) for agreements in singly):
        return None
    return _reading(runs, start, copies)


def _reading(runs: tuple[Run, ...], start: int, copies: list[Agreement]) -> Reading:
    matched = sum(copy.matched for copy in copies)
    missed = sum(copy.notes - copy.matched for copy in copies[:-1])
    missed_last = copies[-1].notes - copies[-1].matched
    return Reading(
        runs=runs,
        start=start,
        count=len(copies) + 1,
        model_notes=max(copy.notes for copy in copies),
        matched=matched,
        missed=missed + missed_last,
        bits=_MATCH_BITS * matched - _MISS_BITS * missed - _MISS_BITS_LAST * missed_last - _NAMING_BITS,
    )


def _span(track: Track, start: int, period: int) -> int:
    first, after = track.window(start, start + period)
    return min(period, track.ends[after - 1] - start) if after > first else 0


def _follows(found: Agreement) -> bool:
    """Say whether a copy is one, even if incomplete or altered."""
    least = 2 if found.notes == 3 else 3
    if found.head >= least and 2 * found.head >= found.notes:
        return True
    return 2 * found.matched >= found.notes >= 4 and _chance_of(found) < _RARE


def _keeps_up(copies: list[Agreement]) -> bool:
    """Say whether one line alone follows the model: closely in the inner copies, recognisably in the last."""
    if len(copies) > 1 and copies[-1].matched < _LAST_SHARE * copies[-1].notes:
        return False
    inner = copies[:-1] or copies
    return all(copy.matched > 0 and copy.matched >= _INNER_SHARE * copy.notes for copy in inner)


def _agreements(tracks: Many[Track], frame: _Frame, copy: int) -> tuple[list[Agreement], Agreement]:
    """Compare a copy with the one before it, in each line and in all together."""
    begin = frame.start + copy * frame.period
    alone = []
    agrees_at: list[tuple[int, bool]] = []
    for track in tracks:
        first, after = track.window(begin - frame.period, begin - frame.period + frame.span)
        now_first, now_after = track.window(begin, begin + frame.span)
        here = [
            (onset, track.step_at.get(onset + frame.period) == track.step_at[onset] + frame.step)
            for onset in track.onsets[first:after]
        ]
        agrees_at += here
        # Notes that the model does not have count against the copy as much as those that it lacks.
        alone.append(_agreement(here, max(after - first, now_after - now_first)))
    agrees_at.sort()
    return alone, _agreement(agrees_at, sum(agreement.notes for agreement in alone))


def _agreement(agrees_at: list[tuple[int, bool]], notes: int) -> Agreement:
    head = next((i for i, (_, agrees) in enumerate(agrees_at) if not agrees), len(agrees_at))
    return Agreement(notes, sum(agrees for _, agrees in agrees_at), head)


def _chance_of(found: Agreement) -> float:
    n = found.notes
    return sum(comb(n, k) * _CHANCE**k * (1 - _CHANCE) ** (n - k) for k in range(found.matched, n + 1))
