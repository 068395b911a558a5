"""One tempo over several passes: who breaks off and begins again mostly goes on as fast as before.

Definition
    Passes that follow each other are one stretch when a single line (tempo_line.py) through all their plain
    onsets, with a step at every new beginning, has a lower information criterion than lines of their own. Each
    pass is laid behind the one before, so that the tempo may bend with playing time, whatever the passage. A
    stretch has more notes and fewer parameters than its passes, and an abandoned start of three notes counts too.
Unit
    Milliseconds over quarters, as for the line.
Formula
    The criterion of tempo_line.py with squares, parameters and notes of both lines added up: the unevenness is
    the player's, and taken to be the same in both.
Source
    As for the line; own construction.
What it cannot know
    Whether a short pass was uneven or at another tempo: one that does not fit the line is left alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from counterpane.listening.measures.tempo_line import Floats, Mask, Row, TempoLine, criterion

# In quarters: any length does, since a step of its own stands before each pass.
_BETWEEN_PASSES = 1.0
# Both hands, each onset by itself, show more of the tempo than the line through their averages, which had none.
SEGMENTS_OF_A_PASS = 8
# In notes. An hour of practice would otherwise cost seconds.
_LONGEST = 600


@dataclass(frozen=True)
class Onsets:
    """The plain onsets of one pass or more, one entry a hand and onset, in the order of playing.

    `written` are quarters from the start of the piece, `along` quarters along the playing, which never fall;
    before each of `steps` (indices) time may have stood still. `most_segments` bounds how often the tempo bends.
    """

    written: Floats
    along: Floats
    left: Mask
    times_ms: Floats
    steps: tuple[int, ...]
    most_segments: int

    @classmethod
    def of(
        cls,
        rows: Sequence[tuple[float, bool, float]],
        pauses: Sequence[float],
        most_segments: int = SEGMENTS_OF_A_PASS,
    ) -> Onsets:
        """Take rows of written onset, whether the left hand's, and time (ms), and the onsets after pauses."""
        onsets, left, times = (np.array(column) for column in zip(*rows, strict=True))
        steps = tuple(int(start) for start in np.searchsorted(onsets, pauses))
        return cls(onsets, onsets, left, times, steps, most_segments)

    def then(self, later: Onsets, most_segments: int) -> Onsets:
        """Return these onsets with a later pass behind them."""
        shift = self.along[-1] + _BETWEEN_PASSES - later.along[0]
        joint = len(self.written)
        return Onsets(
            np.concatenate((self.written, later.written)),
            np.concatenate((self.along, later.along + shift)),
            np.concatenate((self.left, later.left)),
            np.concatenate((self.times_ms, later.times_ms)),
            (*self.steps, joint, *(joint + step for step in later.steps)),
            most_segments,
        )

    def line(self) -> TempoLine:
        """Fit one tempo to all; how much later the left hand comes throughout is a parameter of its own."""
        both = self.left.any() and not self.left.all()
        return Row(self.along, self.times_ms, self.most_segments, self.left if both else None).fit(self.steps)


@dataclass(frozen=True)
class Stretch:
    """Passes played at one tempo, and the line through their onsets."""

    onsets: Onsets
    line: TempoLine


def find_stretches(passes: Iterable[Onsets]) -> list[Stretch]:
    """Join each pass to the one before where one tempo explains both better than two."""
    found: list[Stretch] = []
    for onsets in passes:
        alone = Stretch(onsets, onsets.line())
        together = _joined(found[-1], alone) if found else None
        if together is None:
            found.append(alone)
        else:
            found[-1] = together
    return found


def _joined(before: Stretch, after: Stretch) -> Stretch | None:
    if len(before.onsets.written) > _LONGEST:
        return None
    # One tempo need not bend oftener than both did, and once between them.
    most = max(before.line.segments, 0) + max(after.line.segments, 0) + 1
    onsets = before.onsets.then(after.onsets, most)
    together = Stretch(onsets, onsets.line())
    return together if criterion(together.line) <= criterion(before.line, after.line) else None
