"""What is no sequence: scales, repeated notes, zigzags and broken chords, however regular they are."""

from __future__ import annotations

import numpy as np

from counterpane.analysis.sequence_runs import Run, partners
from counterpane.analysis.steps import Ints, Line

# A scale that turns once is still a scale; two copies must show more of a figure than three.
_NEARLY = 0.9
_NEARLY_IN_TWO = 0.75
# Moves to another note, for each copy.
_MOVES = 1.5
_MOVES_IN_TWO = 2.5
_MOST_OF_RUN = 0.7


def is_melodic(line: Line, run: Run) -> bool:
    """Say whether the line has a figure of its own within the run.

    A scale (every move alike), a zigzag such as broken thirds (every second move alike), a note repeated before it
    moves on and, in even notes, a single broken chord have none.
    """
    first, last = np.searchsorted(line.onset, [run.start, run.end])
    steps = line.step[first:last]
    moves = np.diff(steps)
    moves = moves[moves != 0]
    copies = (run.end - run.start) / run.period
    most, least = (_NEARLY, _MOVES) if copies >= 2.5 else (_NEARLY_IN_TWO, _MOVES_IN_TWO)
    if len(moves) < max(3, least * copies):
        return False
    if _alike(moves) >= most or _alike(steps[2:] - steps[:-2]) >= most:
        return False
    begin, end = np.searchsorted(line.onset, [run.start, run.start + run.period])
    model = line.step[begin:end]
    even = _alike((line.end - line.onset)[begin:end]) == 1.0
    broken = even and not np.any(np.abs(np.diff(model)) == 1)
    return not (broken and (_one_chord(model) or _moves_within(line, run)))


def _moves_within(line: Line, run: Run) -> bool:
    """Say whether the figure already moves by one step within the model: then the chord is its half or third."""
    first, last = np.searchsorted(line.onset, [run.start, run.end])
    for parts in (2, 3, 4):
        _, steps = partners(line, line, run.period // parts)
        if run.period % parts == 0 and steps[first] != 0 and _alike(steps[first:last]) > _MOST_OF_RUN:
            return True
    return False


def _one_chord(steps: Ints) -> bool:
    """Say whether all notes are of one chord built in thirds, of four notes at most."""
    classes = set((steps % 7).tolist())
    return any(classes <= {(root + third) % 7 for third in (0, 2, 4, 6)} for root in range(7))


def _alike(values: Ints) -> float:
    """Return the share of the commonest value; 1.0 when there are none."""
    return float(np.unique(values, return_counts=True)[1].max() / len(values)) if len(values) else 1.0
