"""What is no sequence: scales, repeated notes, zigzags and broken chords, however regular they are."""

from __future__ import annotations

import numpy as np

from counterpane.analysis.sequence_runs import Run
from counterpane.analysis.steps import Ints, Line

# A scale that turns once is still a scale; two copies must show more of a figure than three.
_NEARLY = 0.9
_NEARLY_IN_TWO = 0.75


def is_melodic(line: Line, run: Run) -> bool:
    """Say whether the line has a figure of its own within the run.

    A scale (every move alike), a zigzag such as broken thirds (every second move alike), a note repeated before it
    moves on and, in even notes, a broken chord (no move by step within the model) have none.
    """
    first, last = np.searchsorted(line.onset, [run.start, run.end])
    steps = line.step[first:last]
    moves = np.diff(steps)
    moves = moves[moves != 0]
    most = _NEARLY if 2 * (run.end - run.start) >= 5 * run.period else _NEARLY_IN_TWO
    if len(moves) < 3 or _alike(moves) >= most or _alike(steps[2:] - steps[:-2]) >= most:
        return False
    begin, end = np.searchsorted(line.onset, [run.start, run.start + run.period])
    inside = np.abs(np.diff(line.step[begin:end]))
    if np.count_nonzero(inside) < 2:
        return False
    even = _alike(np.diff(line.onset[begin:end])) == 1.0
    return not (even and bool(np.all(inside != 1)))


def _alike(values: Ints) -> float:
    """Return the share of the commonest value; 1.0 when there are none."""
    return float(np.unique(values, return_counts=True)[1].max() / len(values)) if len(values) else 1.0
