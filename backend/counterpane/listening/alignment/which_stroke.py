"""Within a run: which of several strokes of a key played a note, once it is seen what the others would have been.

Pairing gives a note the stroke that lies best in time. But who strikes the last key once more by mistake, when the
next one is due, has struck it twice; and a key that is late may be right all the same. Where a stroke has no good
explanation, all ways to pair the strokes of its key with the notes of that key nearby are tried, in order, and the
slips around them explained for each; the pairing is taken with which all of it costs least.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from math import comb

from counterpane.listening.alignment.assignment import assign
from counterpane.listening.alignment.explanations import Explanations, Possible
from counterpane.listening.alignment.held import Held
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.runs import Stroke
from counterpane.listening.alignment.wrong_keys import MOST, REACH_ONSETS, time_cost

_BADLY = 3.0
"""What costs so much, or more, is not explained well."""

_ADDED = 5.0
"""No explanation is worth more than this against an added key: one may brush the right key before its time."""

_AS_WRITTEN = -2.0
"""A right key saves so much beside the best explanation of a wrong one ..."""

_MOST_TIME = 4.0
"""... and may come at any time for so much."""

_SUITS_BADLY = 2.0
"""A right key whose time and length cost more than this may be one by chance."""

_BETTER = 1.0
"""By so much must another pairing be better."""

_STROKES_AWAY = 4
_STROKES_AROUND = 3
_MOST_PAIRINGS = 40
"""Beyond, keys are hammered and no order can be told."""


def settle_strokes(explanations: Explanations) -> Possible:
    """Pair again the strokes of keys that are explained badly, and right keys beside them that suit badly.

    Return what the keys of the run that played no note may then have been.
    """
    played, possible = explanations.pairs.played, explanations.of_run()
    badly = _badly_explained(possible)
    for event in badly:
        if event not in played and _Stretch(explanations, event, _STROKES_AWAY).pair_again(possible):
            possible = explanations.of_run()
    for event in badly:
        for other in explanations.beside(event) if event not in played else ():
            if _suits_badly(explanations, other) and _Stretch(explanations, other, 1).pair_again(
                possible, fewer=1
            ):
                possible = explanations.of_run()
    return possible


def _badly_explained(possible: Possible) -> list[int]:
    """Return the events whose explanation costs much, and those without any."""
    found = assign(possible, MOST)
    return [event for event, costs in possible.items() if event not in found or costs[found[event]] >= _BADLY]


def _suits_badly(explanations: Explanations, event: int) -> bool:
    """Whether an event played a note, and neither its time nor its length speak for that."""
    is_right = event in explanations.pairs.played
    return is_right and _cost_as_written(explanations, event) > _AS_WRITTEN + _SUITS_BADLY


class _Stretch:
    """The strokes of one key around one of them, and the notes of that key nearby that they may have played."""

    def __init__(self, explanations: Explanations, event: int, reach: int) -> None:
        self.explanations = explanations
        self.pairs: Pairs = explanations.pairs
        place, strokes = explanations.place_of[event], explanations.strokes
        self.first, self.end = max(0, place - reach), place + reach + 1
        self.key = self.pairs.keys[event]
        near = [stroke for stroke in strokes[self.first : self.end] if self.pairs.keys[stroke.event] == self.key]
        self.events = [stroke.event for stroke in near if stroke.event not in self.pairs.ornament]
        groups = [stroke.group for stroke in near]
        self.notes = self._notes_between(min(groups) - REACH_ONSETS, max(groups) + REACH_ONSETS)

    def _notes_between(self, lowest: int, highest: int) -> list[int]:
        written, taken = self.pairs.written, self.pairs.taken
        return [
            note
            for group in range(lowest, highest + 1)
            for note in written.by_group_and_key.get((group, self.key), ())
            if note not in written.twins
            and (taken[note] in self.events if note in taken else note in self.pairs.attempted)
        ]

    def pair_again(self, possible: Possible, fewer: int = 0) -> bool:
        """Pair strokes and notes so that everything around costs least; return whether that changed anything.

        `possible` tells what the keys of the run may be as it is. So many notes `fewer` may be played.
        """
        as_it_is = {event: self.pairs.played[event] for event in self.events if event in self.pairs.played}
        pairings = comb(len(self.events) + len(self.notes), len(self.notes))
        if pairings > _MOST_PAIRINGS or not set(as_it_is.values()) <= set(self.notes):
            return False
        fewest = len(as_it_is) - fewer
        others = [found for found in _in_order(self.events, self.notes, fewest) if found != as_it_is]
        if not others:
            return False
        around = {event: possible[event] for event in self.pairs.unexplained(self._around())}
        best, least = as_it_is, self._cost(around) - _BETTER
        for pairing in others:
            self._put(pairing)
            if self._keeps_order(pairing.items() - as_it_is.items()):
                cost = self._cost(self.explanations.of_strokes(self._around()))
                if cost < least:
                    best, least = pairing, cost
        self._put(best)
        return best is not as_it_is

    def _put(self, pairing: Mapping[int, int]) -> None:
        for event in self.events:
            if event in self.pairs.played:
                self.pairs.take_back(event)
        for event, note in pairing.items():
            self.pairs.take(event, note)

    def _keeps_order(self, found: Iterable[tuple[int, int]]) -> bool:
        return all(self.pairs.keeps_order(note, event) for event, note in found)

    def _around(self) -> Sequence[Stroke]:
        return self.explanations.strokes[max(0, self.first - _STROKES_AROUND) : self.end + _STROKES_AROUND]

    def _cost(self, possible: Possible) -> float:
        """Return what the strokes of this key cost that played a note, and the slips around."""
        found = assign(possible, MOST)
        slips = (costs[found[event]] if event in found else _ADDED for event, costs in possible.items())
        right = [event for event in self.events if event in self.pairs.played]
        as_written = (_cost_as_written(self.explanations, event) for event in right)
        return sum(min(_ADDED, cost) for cost in slips) + sum(as_written)


def _cost_as_written(explanations: Explanations, event: int) -> float:
    """Return what it costs to say that an event played its note."""
    pairs = explanations.pairs
    note, line = pairs.played[event], pairs.time_line_without(event)
    time = time_cost(line, pairs.written.onset_of[note], pairs.times_ms[event], _MOST_TIME)
    return _AS_WRITTEN + time + Held(pairs, line, explanations.shares).cost(event, note)


def _in_order(events: Sequence[int], notes: Sequence[int], fewest: int) -> Iterator[dict[int, int]]:
    """Yield every way to pair some events with some notes in order, so many pairs or more."""
    for size in range(fewest, min(len(events), len(notes)) + 1):
        for chosen in combinations(events, size):
            for played in combinations(notes, size):
                yield dict(zip(chosen, played, strict=True))
