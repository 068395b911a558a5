"""How each note of a hand was joined to the next of its voice: articulation.py sums it up and names the limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from counterpane.model.piece import Hand

if TYPE_CHECKING:
    from counterpane.listening.measures.heard import Heard, Pass, Struck

LONGEST_INTERVAL_MS = 4000.0


@dataclass(frozen=True, slots=True)
class Join:
    """How one note was joined to the next of its voice: gap in ms (negative: overlap) and as a share."""

    first: Struck
    second: Struck
    gap_ms: float
    share: float


def find_joins(heard: Heard, one: Pass, hand: Hand) -> Iterator[Join]:
    """Yield the joins of one hand in one pass: every voice's neighbouring notes with no rest between."""
    apart = {(hand, onset) for onset in one.pause_onsets}
    chords = heard.sheet.chords
    for first, second in _neighbours(one, hand):
        here = hand, second.onset
        if (
            not (first.plain and second.plain)
            or first.played.midi == second.played.midi
            or here in apart
            or here in chords
            or (hand, first.onset) in chords
        ):
            continue
        release = heard.performance.released_ms(first.played)
        interval = second.played.onset_ms - first.played.onset_ms
        if release is not None and 0 < interval < LONGEST_INTERVAL_MS:
            gap = second.played.onset_ms - release
            yield Join(first, second, gap, gap / interval)


def _neighbours(one: Pass, hand: Hand) -> Iterator[tuple[Struck, Struck]]:
    by_voice: dict[int, list[Struck]] = {}
    for struck in one.by_hand[hand]:
        by_voice.setdefault(struck.note.voice, []).append(struck)
    for row in by_voice.values():
        for first, second in pairwise(row):
            if first.end == second.onset:
                yield first, second
