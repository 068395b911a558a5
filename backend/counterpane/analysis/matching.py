"""Where a figure may return in a line: places and transpositions that enough of its notes agree on.

Every pair of a note of the figure and a note of the line votes for one displacement in time and one shift in
scale steps (upright) or one axis (inverted); a return of the figure is a cell in which many votes fall, whatever
is inserted, altered or left out. Method: the translation vectors of Meredith, Lemström and Wiggins,
"Algorithms for discovering repeated patterns in multidimensional representations of polyphonic music"
(Journal of New Music Research 31, 2002), with votes weighted by information. The cost is the product of the two
lengths, sorted once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from counterpane.analysis.null_model import NullModel
from counterpane.analysis.steps import Floats, Ints, Line, Lines

# A displacement is looked at when its votes carry this share of the figure's information ...
ENOUGH = 0.34
# ... or when two shifts at one displacement do so together (a tonal answer, a second half transposed).
_ENOUGH_TOGETHER = 0.6
_LEAST_OF_TWO = 0.15


@dataclass(frozen=True)
class Figure:
    """A figure to look for: onsets in ticks from its first note, steps, semitones, bits of each note.

    `mirrored` figures are looked for upside down. `length` is the time from the first onset to the end of the last
    note, `phase` and `standing` how far into its beat and its half of the measure the first onset falls.
    """

    onset: Ints
    step: Ints
    semitone: Ints
    bits: Floats
    length: int
    phase: int = 0
    standing: int = 0
    mirrored: bool = False

    def __len__(self) -> int:
        return len(self.onset)

    @property
    def shape(self) -> Ints:
        """Steps as they are looked for: negated when mirrored, so that a return adds a constant."""
        return -self.step if self.mirrored else self.step

    @property
    def weight(self) -> Floats:
        """Bits by which each note's vote counts; the first counts as much as the second."""
        weight = self.bits.copy()
        weight[0] = weight[1]
        return weight


def figure_of(line: Line, lines: Lines, null_model: NullModel) -> Figure:
    """Return the notes of a line as a figure to look for in `lines`, weighed by `null_model`."""
    return Figure(
        onset=line.onset - line.onset[0],
        step=line.step - line.step[0],
        semitone=line.semitone - line.semitone[0],
        bits=null_model.information(line.step, line.onset),
        length=int(line.end[-1] - line.onset[0]),
        phase=int(lines.phase(line.onset[:1])[0]),
        standing=int(lines.standing(line.onset[:1])[0]),
    )


@dataclass(frozen=True)
class Seeds:
    """Places to look at: displacement in ticks and the shift of the first and of the second part."""

    time: Ints
    shift: Ints
    later_shift: Ints


def seeds(figure: Figure, line: Line, enough: float = ENOUGH) -> Seeds:
    """Return the displacements and shifts that enough of the figure's notes agree on, in order of time."""
    if len(line) == 0:
        return Seeds(*(np.zeros(0, dtype=np.int64) for _ in range(3)))
    time, shift, votes = _cells(figure, line)
    needed = figure.weight.sum()
    alone = votes >= enough * needed
    first, second = _pairs(time, votes, needed)
    return Seeds(
        np.concatenate([time[alone], time[first]]),
        np.concatenate([shift[alone], shift[first]]),
        np.concatenate([shift[alone], shift[second]]),
    )


def _cells(figure: Figure, line: Line) -> tuple[Ints, Ints, Floats]:
    """Return each displacement and shift that occurs, with the weight of its votes."""
    times = (line.onset[None, :] - figure.onset[:, None]).ravel()
    shifts = (line.step[None, :] - figure.shape[:, None]).ravel()
    weights = np.repeat(figure.weight, len(line))
    lowest = int(shifts.min())
    width = int(shifts.max()) - lowest + 1
    key = (times - times.min()) * width + (shifts - lowest)
    order = np.argsort(key, kind="stable")
    ordered = key[order]
    starts = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
    votes = np.add.reduceat(weights[order], starts)
    kept = votes >= _LEAST_OF_TWO * figure.weight.sum()
    cell = ordered[starts[kept]]
    return cell // width + int(times.min()), cell % width + lowest, votes[kept]


def _pairs(time: Ints, votes: Floats, needed: float) -> tuple[Ints, Ints]:
    """Return index pairs (both orders) of cells at one displacement that together have enough votes."""
    firsts: list[Ints] = []
    seconds: list[Ints] = []
    index = np.arange(len(time))
    for apart in range(1, 4):  # cells of one displacement are neighbours; a few of them qualify at most
        left, right = index[:-apart], index[apart:]
        joined = (time[left] == time[right]) & (votes[left] + votes[right] >= _ENOUGH_TOGETHER * needed)
        firsts += [left[joined], right[joined]]
        seconds += [right[joined], left[joined]]
    return np.concatenate(firsts), np.concatenate(seconds)
