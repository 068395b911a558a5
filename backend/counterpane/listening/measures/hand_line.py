"""One hand's notes against the local tempo that both hands share.

The tempo is fitted to all onsets of a stretch together (stretches.py), so that a hand with few notes is held
against the same tempo as the other; how much later the left hand comes throughout is a parameter of its own. What
the fit takes from a note's own displacement is kept beside it, so that sums over some notes stay unbiased.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from counterpane.listening.measures.stretches import Stretch
from counterpane.listening.measures.tempo_line import Floats, Mask, TempoLine
from counterpane.model.piece import Hand


@dataclass(frozen=True)
class HandLine:
    """The notes `rows` of a line, in order; `residuals_ms` are played minus fitted, `kept` the fitted ones.

    `onsets` are the written ones in quarters, `along` the line's own, which go on where a new pass begins.
    """

    line: TempoLine
    rows: NDArray[np.int64]
    onsets: Floats
    along: Floats
    times_ms: Floats
    residuals_ms: Floats
    kept: Mask

    @classmethod
    def of(cls, stretch: Stretch, hand: Hand, chords: frozenset[tuple[Hand, float]]) -> HandLine:
        """Take one hand's single notes out of a stretch."""
        line, written = stretch.line, stretch.onsets.written
        single = np.array([(hand, onset) not in chords for onset in written.tolist()], dtype=bool)
        rows = np.flatnonzero(single & (stretch.onsets.left == (hand == "left")))
        return cls(
            line,
            rows,
            written[rows],
            line.onsets[rows],
            line.times_ms[rows],
            line.residuals_ms[rows],
            line.kept[rows],
        )

    @cached_property
    def breaks(self) -> NDArray[np.int64]:
        """Indices of the notes before which time stood still, among these notes."""
        starts = np.unique(np.searchsorted(self.rows, np.asarray(self.line.breaks, dtype=np.int64)))
        return starts[(starts > 0) & (starts < len(self.rows))]

    @cached_property
    def _base(self) -> Floats:
        return self.line.base[self.rows]

    @property
    def freedom(self) -> float:
        """What the fit leaves of the kept notes' displacements: the sum of 1 - h(i,i), h the hat matrix."""
        return float((self.kept * (1 - (self._base**2).sum(axis=1))).sum())

    @property
    def interval_freedom(self) -> Floats:
        """What the fit leaves of each interval's variance: 2 - h(i,i) - h(j,j) + 2 h(i,j) for neighbours i, j."""
        own = (self._base**2).sum(axis=1)
        shared = (self._base[1:] * self._base[:-1]).sum(axis=1)
        left: Floats = 2 - own[1:] - own[:-1] + 2 * shared
        return left
