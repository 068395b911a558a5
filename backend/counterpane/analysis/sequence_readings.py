"""One way to hear a stretch as a sequence: which lines, which period, how many copies, on how much evidence.

Counting: the model starts where the run starts; a last copy that is incomplete or altered counts when
half of it follows the model from its head, or when more of its notes agree than chance would give (a binomial
test at three in a hundred; a note agrees by chance about once in five, as measured on pieces whose measures
were shuffled).
"""

from __future__ import annotations

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
class Reading:
    """Runs of one period and step heard as one sequence of `count` copies from `start` on (ticks).

    `model_notes` are the notes of the model in all lines; `bits` what the reading saves over writing every
    note down.
    """

    runs: tuple[Run, ...]
    period: int
    step: int
    start: int
    end: int
    count: int
    model_notes: int
    matched: int
    missed: int
    bits: float

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


def read_runs(lines: Many[Line], runs: tuple[Run, ...], beat: int) -> Reading | None:
    """Return the best reading of runs that share period and step, or None when they hold fewer than two copies.

    The model may start where any of the runs does, or on the next beat (ticks): a note or two before it often
    agree by chance.
    """
    starts = {run.start for run in runs}
    starts |= {start + -start % beat for start in starts if -start % beat <= runs[0].period // 2}
    readings = [reading for start in sorted(starts) if (reading := _read_from(lines, runs, start)) is not None]
    return max(readings, key=lambda r: (r.bits, r.start % beat == 0), default=None)


def _read_from(lines: Many[Line], runs: tuple[Run, ...], start: int) -> Reading | None:
    used = [lines[run.line] for run in runs]
    period, step = runs[0].period, runs[0].step
    frame = _Frame(start, period, step, max(_span(line, start, period) for line in used))
    count = max(1, (max(run.end for run in runs) - start) // period)
    while _follows(used, frame, count):
        count += 1
    if count < 2 or not all(_keeps_up(line, frame, count) for line in used):
        return None
    copies = [_agreement(used, frame, copy) for copy in range(1, count)]
    inner, last = copies[:-1], copies[-1]
    matched = sum(copy.matched for copy in copies)
    missed = sum(copy.notes - copy.matched for copy in inner)
    missed_last = last.notes - last.matched
    return Reading(
        runs,
        period,
        step,
        start,
        start + count * period,
        count,
        max(copy.notes for copy in copies),
        matched,
        missed + missed_last,
        _MATCH_BITS * matched - _MISS_BITS * missed - _MISS_BITS_LAST * missed_last - _NAMING_BITS,
    )


@dataclass(frozen=True)
class _Frame:
    """Where copies lie: start of the model, period, step, and the span to the end of the model's last note."""

    start: int
    period: int
    step: int
    span: int


def _span(line: Line, start: int, period: int) -> int:
    first, after = window(line, start, start + period)
    return min(period, int(line.end[after - 1]) - start) if after > first else 0


def window(line: Line, start: int, end: int) -> tuple[int, int]:
    """Return the range of indices of the notes that begin in [start, end) ticks."""
    onsets = line.onset
    return int(onsets.searchsorted(start)), int(onsets.searchsorted(end))


def _follows(lines: Many[Line], frame: _Frame, copy: int) -> bool:
    """Say whether the copy is one, even if incomplete or altered."""
    found = _agreement(lines, frame, copy)
    least = 2 if found.notes == 3 else 3
    if found.head >= least and 2 * found.head >= found.notes:
        return True
    return 2 * found.matched >= found.notes >= 4 and _chance_of(found) < _RARE


def _keeps_up(line: Line, frame: _Frame, count: int) -> bool:
    """Say whether one line alone follows the model: closely in the inner copies, recognisably in the last."""
    copies = [_agreement([line], frame, copy) for copy in range(1, count)]
    if len(copies) > 1 and copies[-1].matched < _LAST_SHARE * copies[-1].notes:
        return False
    inner = copies[:-1] or copies
    return all(copy.matched > 0 and copy.matched >= _INNER_SHARE * copy.notes for copy in inner)


def _agreement(lines: Many[Line], frame: _Frame, copy: int) -> Agreement:
    """Compare a copy with the one before it."""
    notes = matched = 0
    head_ticks: list[tuple[int, bool]] = []
    begin = frame.start + copy * frame.period
    for line in lines:
        before = range(*window(line, begin - frame.period, begin - frame.period + frame.span))
        now = range(*window(line, begin, begin + frame.span))
        place = {int(line.onset[i]): int(line.step[i]) for i in now}
        agreeing = 0
        for i in before:
            onset = int(line.onset[i])
            agrees = place.get(onset + frame.period) == int(line.step[i]) + frame.step
            agreeing += agrees
            head_ticks.append((onset, agrees))
        # Notes that the model does not have count against the copy as much as those that it lacks.
        notes += max(len(before), len(now))
        matched += agreeing
    head_ticks.sort()
    head = next((i for i, (_, agrees) in enumerate(head_ticks) if not agrees), len(head_ticks))
    return Agreement(notes, matched, head)


def _chance_of(found: Agreement) -> float:
    n = found.notes
    return sum(comb(n, k) * _CHANCE**k * (1 - _CHANCE) ** (n - k) for k in range(found.matched, n + 1))
