"""Hands that do not keep together.

Within a hand order is kept, and a path follows it; one hand steadily behind the other by more than the shortest
notes mixes both orders up. How far behind it is shows all the same, from the onsets of both hands that were found.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.written import Written
from counterpane.model.piece import Hand


def left_behind_ms(pairs: Sequence[Pairs]) -> float:
    """Return how long the left hand usually comes after the right where both have an onset; 0 where none was."""
    gaps = []
    for found in pairs:
        first: dict[tuple[Hand, int], float] = {}
        for note, event in found.taken.items():
            place = found.written.notes[note].hand, found.written.group_of[note]
            first[place] = min(found.times_ms[event], first.get(place, found.times_ms[event]))
        for (hand, group), time in first.items():
            if hand == "left" and ("right", group) in first:
                gaps.append(time - first["right", group])
    return median(gaps) if gaps else 0.0


def brought_together(
    written: Written, pairs: Sequence[Pairs], keys: Sequence[int], times_ms: Sequence[float]
) -> list[float]:
    """Return the times with what the left hand played moved to where the right hand is.

    A key belongs to the hand of the note that was found for it, else to the one hand that is written to play it.
    """
    lag = left_behind_ms(pairs)
    only_left = set(written.keys[~written.right].tolist()) - set(written.keys[written.right].tolist())
    hands: dict[int, Hand] = {}
    for found in pairs:
        for notes in (found.ornament, found.replaced, found.played):
            hands.update((event, written.notes[note].hand) for event, note in notes.items())
    is_left = [
        hands.get(event, "left" if key in only_left else "right") == "left" for event, key in enumerate(keys)
    ]
    return [time - lag if left else time for time, left in zip(times_ms, is_left, strict=True)]
