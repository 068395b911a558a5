"""What is no sequence: scales, repeated notes, zigzags and broken chords, however regular they are."""

from __future__ import annotations

import numpy as np

from counterpane.analysis.sequence_readings import window
from counterpane.analysis.sequence_runs import Run
from counterpane.analysis.steps import Ints, Line


def is_melodic(line: Line, run: Run) -> bool:
    """Say whether the line has a figure of its own within the run.

    A scale (every move alike), a zigzag such as broken thirds (every second move alike) and, in even notes, a
    broken chord (no move by step within the model) have none.
    """
    first, last = window(line, run.start, run.end)
    steps = line.step[first:last]
    moves = np.diff(steps)
    moves = moves[moves != 0]
    if len(moves) < 3 or _all_alike(moves) or _all_alike(steps[2:] - steps[:-2]):
        return False
    begin, end = window(line, run.start, run.start + run.period)
    inside = np.abs(np.diff(line.step[begin:end]))
    even = _all_alike(np.diff(line.onset[begin:end]))
    return not (even and len(inside) > 0 and bool(np.all(inside != 1)))


def _all_alike(values: Ints) -> bool:
    return len(values) == 0 or bool(np.all(values == values[0]))
