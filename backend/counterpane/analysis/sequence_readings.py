"""One way to hear a stretch as a sequence: which lines, which period, how many copies, on how much evidence.

Counting: the model starts where the run starts; a last copy that is incomplete or altered counts when
half of it follows the model from its head, or when more of its notes agree than chance would give (a binomial
test at two in a hundred; a note agrees by chance about once in five, as measured on pieces whose measures
were shuffled).
"""

from __future__ import annotations

from collections.abc import Sequence as Many
from dataclasses import dataclass
from math import comb

from counterpane.analysis.sequence_runs import Run
from counterpane.analysis.steps import Line

_CHANCE = 0.2
_RARE = 0.02
_INNER_SHARE = 0.7
_LAST_SHARE = 0.3
_MATCH_BITS = 3.0
_MISS_BITS = 4.0
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


@dataclass(frozen=True)
class Agreement:
    """How one copy follows the one before: notes of the model, of them matched, matched in a row from the head."""

    notes: int
    matched: int
    head: int


def read_runs(lines: Many[Line], runs: tuple[Run, ...]) -> Reading | None:
    """Return the reading of runs that share period and step, or None when they hold fewer than two copies."""
    period, step = runs[0].period, runs[0].step
    start = min(run.start for run in runs)
    used = [lines[run.line] for run in runs]
    end = max(run.end for run in runs)
    count = max(1, (end - start) // period)
    while _follows(used, start, period, step, count):
        count += 1
    copies = [_agreement(used, start, period, step, copy) for copy in range(1, count)]
    if count < 2 or not all(_keeps_up(line, start, period, step, count) for line in used):
        return None
    matched = sum(copy.matched for copy in copies)
    missed = sum(copy.notes - copy.matched for copy in copies)
    bits = _MATCH_BITS * matched - _MISS_BITS * missed - _NAMING_BITS
    return Reading(
        runs,
        period,
        step,
        start,
        start + count * period,
        count,
        max((copy.notes for copy in copies), default=0),
        matched,
        missed,
        bits * (_TWO_COPIES if count == 2 else 1.0),
    )


def window(line: Line, start: int, end: int) -> tuple[int, int]:
    """Return the range of indices of the notes that begin in [start, end) ticks."""
    onsets = line.onset
    return int(onsets.searchsorted(start)), int(onsets.searchsorted(end))


def _follows(lines: Many[Line], start: int, period: int, step: int, copy: int) -> bool:
    found = _agreement(lines, start, period, step, copy)
    least = 2 if found.notes == 3 else 3
    if found.head >= least and 2 * found.head >= found.notes:
        return True
    return 2 * found.matched >= found.notes >= 4 and _chance_of(found) < _RARE


def _keeps_up(line: Line, start: int, period: int, step: int, count: int) -> bool:
    """Say whether one line alone follows the model: closely in the inner copies, recognisably in the last."""
    copies = [_agreement([line], start, period, step, copy) for copy in range(1, count)]
    if len(copies) > 1 and copies[-1].matched < _LAST_SHARE * copies[-1].notes:
        return False
    inner = copies[:-1] or copies
    return all(copy.matched > 0 and copy.matched >= _INNER_SHARE * copy.notes for copy in inner)


def _agreement(lines: Many[Line], start: int, period: int, step: int, copy: int) -> Agreement:
    notes = matched = 0
    head_ticks: list[tuple[int, bool]] = []
    begin = start + copy * period
    for line in lines:
        before = range(*window(line, begin - period, begin))
        now = range(*window(line, begin, begin + period))
        place = {int(line.onset[i]): int(line.step[i]) for i in now}
        agreeing = 0
        for i in before:
            onset = int(line.onset[i])
            agrees = place.get(onset + period) == int(line.step[i]) + step
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
