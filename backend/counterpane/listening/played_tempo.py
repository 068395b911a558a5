"""The tempo of a performance before it is aligned: for scores and drills that name none.

Definition
    Written quarters an onset over the played time an onset; played gaps longer than four times the median are
    counted as four medians, so that pauses weigh little. Keys within 30 ms are one onset.
Unit
    Quarter notes a minute.
Source
    Common practice, no source.
What it cannot know
    Which onsets were left out or repeated: it is a first guess, within the unevenness of the note values.
"""

from __future__ import annotations

from itertools import pairwise
from statistics import median

from counterpane.model.performance import Performance
from counterpane.model.piece import Piece
from counterpane.model.practice import Passage
from counterpane.units import ms_to_quarters

FALLBACK_TEMPO = 60.0
_TOGETHER_MS = 30.0


def played_tempo(piece: Piece, passage: Passage, performance: Performance) -> float:
    """Return the tempo in quarters a minute, or 60 when fewer than three onsets were written or played."""
    measures = [m for m in piece.measures if passage.first_measure <= m.number <= passage.last_measure]
    written = sorted(
        {
            note.onset
            for note in piece.notes
            if measures[0].onset <= note.onset < measures[-1].end and passage.hands in ("both", note.hand)
        }
    )
    gaps = [
        after.onset_ms - before.onset_ms
        for before, after in pairwise(performance.notes)
        if after.onset_ms - before.onset_ms > _TOGETHER_MS
    ]
    if len(written) < 3 or len(gaps) < 2:
        return FALLBACK_TEMPO
    longest = 4 * median(gaps)
    typical = sum(min(gap, longest) for gap in gaps) / len(gaps)
    quarters = float(written[-1] - written[0]) / (len(written) - 1)
    return 60.0 * quarters / ms_to_quarters(typical, 60.0)
