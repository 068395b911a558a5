"""Notes struck once more, or several times, before playing goes on: the smallest of abandoned starts.

To the path a new beginning for the sake of one onset costs more than added or wrong keys. Beside the right keys of
the run it shows: keys of an onset that was played, struck before or after it with no other onset between, and a
pause: the last key once more, in the time of the next one, would be a slip.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby

from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.runs import Stroke
from counterpane.listening.alignment.timeline import TimeLine

_PAUSE = 1.5
"""The last stroke comes after so many times as long as the next onset should have taken."""

_STRUCK_AGAIN = 4.0
"""What it costs to say so of a key: what else it may have been comes first. Several share the cost."""


def restruck_notes(pairs: Pairs, strokes: Sequence[Stroke], line: TimeLine) -> dict[int, tuple[int, float]]:
    """Return the notes that were struck more than once, by the events that are nothing yet, and the costs.

    `strokes` are those of a run, or some of them that follow one another.
    """
    found: dict[int, tuple[int, float]] = {}
    unexplained = set(pairs.unexplained(strokes))
    keys = {pairs.keys[event] for event in unexplained}
    for notes, stretch in _stretches(pairs, strokes) if unexplained else ():
        if keys.isdisjoint(notes):
            continue
        again = {
            stroke.event: notes[pairs.keys[stroke.event]]
            for stroke in stretch
            if stroke.event in unexplained and pairs.keys[stroke.event] in notes
        }
        if again and _is_restart(pairs, line, again):
            count = Counter(again.values())
            costs = {event: _STRUCK_AGAIN / (len(again) * count[note]) for event, note in again.items()}
            found = {event: (note, costs[event]) for event, note in again.items()} | found
    return found


def _stretches(pairs: Pairs, strokes: Sequence[Stroke]) -> Iterator[tuple[dict[int, int], Sequence[Stroke]]]:
    """Yield the notes of each onset that was played before a later one, by key, and the strokes around it.

    Those are the strokes between the onsets played before and after it.
    """
    group_of = pairs.written.group_of
    right = [place for place, stroke in enumerate(strokes) if stroke.event in pairs.played]
    note_at = {place: pairs.played[strokes[place].event] for place in right}
    onsets = [
        (group, list(places)) for group, places in groupby(right, key=lambda place: group_of[note_at[place]])
    ]
    ends = [-1, *(places[-1] for _, places in onsets)]
    for before, (group, places), (later, following) in zip(ends, onsets, onsets[1:], strict=False):
        if group < later:
            notes = {pairs.written.key_of[note_at[place]]: note_at[place] for place in places}
            yield notes, strokes[before + 1 : following[0]]


def _is_restart(pairs: Pairs, line: TimeLine, again: dict[int, int]) -> bool:
    """Whether there was a pause among the strokes of an onset, and playing goes on directly after the last."""
    strokes = sorted([*again, *(pairs.taken[note] for note in again.values())])
    first, last = strokes[0], strokes[-1]
    long = _PAUSE * _step_ms(pairs, line, again[min(again)])
    return pairs.times_ms[last] - pairs.times_ms[first] >= long and last + 1 in pairs.played


def _step_ms(pairs: Pairs, line: TimeLine, note: int) -> float:
    """Return how long the step from a note to the next onset takes."""
    onsets, group = pairs.written.group_onsets, pairs.written.group_of[note]
    return float(onsets[group + 1] - onsets[group]) * line.pace(float(onsets[group]))
