"""Where time stood still, or was cut: the steps of a time line (tempo_line.py).

Definition
    A step before a note: everything from that note on comes later (a pause) or earlier (a cut) by its size. It is
    kept when it is at least half a hesitation (thresholds.py) and `_SURE` of its own standard errors, and not
    undone by the step before the next note, which makes it one note out of place.
Unit
    Milliseconds; a step is named by the index of the note it stands before.
Formula
    Intervals that stand out from the running median of the tempo are tried together, and those that are not sure
    are dropped. Then steps that would take much off the sum of squares are added, as long as they are sure and
    lower the line's criterion: where the notes on both sides are many, that finds pauses which no single interval
    shows.
Source
    Draper and Smith (1998), "Applied regression analysis": adding and dropping one column of a regression.
What it cannot know
    A pause shorter than the unevenness around it; two pauses before neighbouring notes of a short row.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from counterpane.listening.measures.tempo_line import (
    LEAST_SD_MS,
    LINE,
    Floats,
    Row,
    TempoLine,
    criterion,
    robust_sd,
)
from counterpane.listening.measures.thresholds import hesitation_limit_ms

# In standard errors: of a few hundred places, one attempt in five hundred would show such a step by chance.
_SURE = 4.5
# Of a step's own sum of squares; below it the line can follow the step, and the two cannot be told apart.
_LEAST_ROOM = 0.1
_NOTES_A_STEP = 6
# In onsets of one pass. A longer row costs seconds, and has its long pauses found by their intervals.
_LONGEST_SEARCH = 600
_WINDOW = 8


def find_line(onsets: Floats, times_ms: Floats) -> TempoLine:
    """Fit a line and find the steps in it: pauses and cuts that are long, and surer than chance.

    The intervals that stand out are tried first, then the steps that would explain most of what is left.
    """
    row = Row(onsets, times_ms)
    line = _only_sure(row, _candidates(onsets, times_ms))
    while (longer := _with_overlooked(row, line)) is not None:
        line = longer
    return line


def _only_sure(row: Row, breaks: tuple[int, ...]) -> TempoLine:
    line = row.fit(breaks)
    while (sure := _sure_breaks(line)) != line.breaks:
        line = row.fit(sure)
    return line


def _candidates(onsets: Floats, times_ms: Floats) -> tuple[int, ...]:
    """Return indices of notes that come much later or earlier than the local tempo has them."""
    written = np.diff(onsets)
    played = np.diff(times_ms)
    local = _running_median(played / written)
    extra = played - written * local
    spread = 3 * robust_sd(extra)
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
    rows = zip(line.breaks, line.steps_ms, hesitation_limits(line), line.step_errors_ms.tolist(), strict=True)
    found = [index for index, step, limit, error in rows if abs(step) >= max(limit / 2, _SURE * error)]
    return tuple(index for index in found if not _is_one_note(line, index))


def _with_overlooked(row: Row, line: TempoLine) -> TempoLine | None:
    """Return the line with more steps, or None when no more are both sure and worth their parameters.

    A bent line hides a step by following it, so steps are looked for beside a straight one too.
    """
    if len(line.onsets) > _LONGEST_SEARCH:
        return None
    straight = replace(row, most_segments=LINE).fit(line.breaks)
    for found in (_likely_steps(line), _likely_steps(straight)):
        if found:
            longer = _only_sure(row, tuple(sorted({*line.breaks, *found})))
            if criterion(longer) < criterion(line):
                return longer
    return None


def _likely_steps(line: TempoLine) -> list[int]:
    """Return the notes before which one more step would surely explain much, the best of each stretch.

    The step's column is 1 from the note on; what the fit already holds of it is projected out (formula: r the
    residuals, s the column, Q the fit's base: (s r)^2 / (s s - |Q s|^2) is taken off the sum of squares).
    """
    explained = np.cumsum((line.residuals_ms * line.kept)[::-1])[::-1]
    shared = np.cumsum(line.base[::-1], axis=0)[::-1]
    room = np.cumsum(line.kept[::-1])[::-1] - (shared**2).sum(axis=1)
    score = np.abs(explained) / np.sqrt(np.maximum(room, _LEAST_ROOM))
    score[0] = 0.0
    best = sliding_window_view(np.pad(score, _WINDOW), 2 * _WINDOW + 1).max(axis=1)
    sure = (score == best) & (score >= _SURE * max(line.sd_ms, LEAST_SD_MS))
    most = max(0, _most_breaks(line.onsets) - len(line.breaks))
    return sorted(np.flatnonzero(sure).tolist(), key=lambda index: -score[index])[:most]


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
    return np.median(sliding_window_view(padded, 2 * _WINDOW + 1), axis=1)
