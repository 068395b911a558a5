"""One way to hear a stretch as a sequence: which lines, which period, how many copies, on how much evidence.

Counting: the model starts where the run starts, or on the beat after; a last copy that is incomplete or altered
counts when half of it follows the model from its head, or when more of its notes agree than chance would give (a
binomial test at three in a hundred; a note agrees by chance about once in five, as measured on free counterpoint).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
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
_ON_PERIOD_BITS = 4.0
_ON_BEAT_BITS = 1.0


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
    """How one copy follows the one before: notes of the model, of them matched, matched in a row from the head.

    `framed` copies have a note for each of the model's, and agree in the first and the last.
    """

    notes: int
    matched: int
    head: int
    framed: bool


@dataclass(frozen=True)
class _Frame:
    """Where copies lie: start of the model, period, step, and the span to the end of the model's last note."""

    start: int
    period: int
    step: int
    span: int


@dataclass(frozen=True)
class Pulse:
    """Where the meter puts weight: onsets of the measures, each with the length of its beat, in ticks."""

    barlines: list[int]
    beats: list[int]

    def bits(self, time: int, period: int) -> float:
        """Return what a start at `time` says for itself: most where whole periods fit after a barline."""
        measure = self._measure(time)
        within = time - self.barlines[measure]
        on_beat = _ON_BEAT_BITS if within % self.beats[measure] == 0 else 0.0
        return _ON_PERIOD_BITS if within % period == 0 else on_beat

    def after(self, time: int, reach: int) -> set[int]:
        """Return the beat and the barline that `time` is on or that come next, no further away than `reach`."""
        measure = self._measure(time)
        beat = time + -(time - self.barlines[measure]) % self.beats[measure]
        return {place for place in (beat, *self.barlines[measure + 1 : measure + 2]) if place - time <= reach}

    def _measure(self, time: int) -> int:
        return max(0, bisect_right(self.barlines, time) - 1)


def read_runs(tracks: Many[Track], leading: Many[Run], following: Many[Run], pulse: Pulse) -> Reading | None:
    """Return the best reading of runs that share period and step, or None when they hold fewer than two copies.

    The `leading` runs say where the model starts and how many copies there are; `following` ones (lines without
    a figure of their own) belong to the reading when they keep up with it. The model may start where a leading
    run does, or on the next beat or barline: a note or two before it often agree by chance.
    """
    period = leading[0].period
    starts = {run.start for run in leading}
    starts |= {place for start in starts for place in pulse.after(start, period // 2)}
    readings = [
        reading
        for start in sorted(starts)
        if (reading := _read_from(tracks, leading, following, start)) is not None
    ]
    return max(readings, key=lambda r: r.bits + pulse.bits(r.start, period), default=None)


def _read_from(tracks: Many[Track], leading: Many[Run], following: Many[Run], start: int) -> Reading | None:
    used = [tracks[run.line] for run in leading]
    period = leading[0].period
    frame = _Frame(start, period, leading[0].step, max(_span(track, start, period) for track in used))
    full = max(2, (max(run.end for run in leading) - start) // period)
    count = 1
    while count < full or _follows(_together([_agreement(track, frame, count) for track in used])):
        count += 1
    kept = [run for run in (*leading, *following) if _keeps_up(tracks[run.line], frame, count)]
    if any(run not in kept for run in leading):
        return None
    copies = [_together([_agreement(tracks[run.line], frame, copy) for run in kept]) for copy in range(1, count)]
    return _reading(tuple(kept), start, copies)


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
    if (found.head >= least and 2 * found.head >= found.notes) or (found.notes == 3 and found.framed):
        return True
    return 2 * found.matched >= found.notes >= 4 and _chance_of(found) < _RARE


def _keeps_up(track: Track, frame: _Frame, count: int) -> bool:
    """Say whether one line alone follows the model: closely in the inner copies, recognisably in the last."""
    copies = [_agreement(track, frame, copy) for copy in range(1, count)]
    if len(copies) > 1 and copies[-1].matched < _LAST_SHARE * copies[-1].notes:
        return False
    inner = copies[:-1] or copies
    return all(copy.matched > 0 and copy.matched >= _INNER_SHARE * copy.notes for copy in inner)


def _agreement(track: Track, frame: _Frame, copy: int) -> Agreement:
    """Compare a copy in one line with the copy before it."""
    begin = frame.start + copy * frame.period
    first, after = track.window(begin - frame.period, begin - frame.period + frame.span)
    now_first, now_after = track.window(begin, begin + frame.span)
    agrees = [
        track.step_at.get(onset + frame.period) == track.step_at[onset] + frame.step
        for onset in track.onsets[first:after]
    ]
    # Notes that the model does not have count against the copy as much as those that it lacks.
    notes, now = after - first, now_after - now_first
    framed = notes == now and all(agrees[:1] + agrees[-1:]) and _same_times(track, first, now_first, notes, frame)
    return Agreement(max(notes, now), sum(agrees), _leading_run(agrees), framed)


def _same_times(track: Track, first: int, now_first: int, notes: int, frame: _Frame) -> bool:
    before, now = track.onsets[first : first + notes], track.onsets[now_first : now_first + notes]
    return all(onset + frame.period == later for onset, later in zip(before, now, strict=True))


def _together(alone: list[Agreement]) -> Agreement:
    """Return the agreement of several lines as one; they begin alike as far as the weakest of them does."""
    if len(alone) == 1:
        return alone[0]
    share = min((one.head / one.notes for one in alone if one.notes), default=0.0)
    notes = sum(one.notes for one in alone)
    return Agreement(notes, sum(one.matched for one in alone), int(share * notes), framed=False)


def _leading_run(agrees: list[bool]) -> int:
    return agrees.index(False) if False in agrees else len(agrees)


def _chance_of(found: Agreement) -> float:
    n = found.notes
    return sum(comb(n, k) * _CHANCE**k * (1 - _CHANCE) ** (n - k) for k in range(found.matched, n + 1))
