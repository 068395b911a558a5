"""What keys that played no note may have been, over a stretch of a run, and what each possibility costs.

A key came in place of a note (`wrong_keys`), or was one of the tries before a note that was put right, or was
another stroke of a note (`restruck`). A note takes one key in its place and a few tries: each of these is a slot.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain, pairwise

from counterpane.listening.alignment.held import Held, HeldShare
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.restruck import restruck_notes
from counterpane.listening.alignment.runs import Stroke
from counterpane.listening.alignment.timeline import TimeLine
from counterpane.listening.alignment.wrong_keys import REACH_ONSETS, TOGETHER_MS, WrongKeys
from counterpane.model.piece import Hand

Possible = dict[int, dict[tuple[int, int], float]]
"""For each event the notes that it may have stood for, each with a slot, and what that costs."""

IN_PLACE = 0
"""The slot of the one key that came in place of a note."""

_MOST_TRIES = 4
"""A longer row of keys, none of them right, is noodling."""

_ONE_MORE_TRY = 1.0
"""Each try of a note costs so much more than the last."""

_ONSETS_OUTSIDE = 2


def struck_again(event: int) -> int:
    """Return a slot of the event's own: a note may be struck again any number of times."""
    return -1 - event


class Explanations:
    """The possible explanations of a run's keys; `shares` tell how long this player holds keys."""

    def __init__(self, pairs: Pairs, shares: Mapping[Hand, HeldShare]) -> None:
        self.pairs = pairs
        self.strokes = pairs.run.strokes
        self.shares = shares
        self.place_of = {stroke.event: place for place, stroke in enumerate(self.strokes)}
        self._outside = _just_outside(pairs)

    def beside(self, event: int) -> list[int]:
        """Return the events just before and just after one."""
        place = self.place_of[event]
        near = self.strokes[max(0, place - 1) : place + 2]
        return [stroke.event for stroke in near if stroke.event != event]

    def of_run(self) -> Possible:
        """Return what every key of the run may have been that is nothing yet."""
        return self._of(self.strokes, self.pairs.free(), self.pairs.time_line())

    def of_strokes(self, strokes: Sequence[Stroke]) -> Possible:
        """Return the same for some strokes that follow one another, by what is near them."""
        groups = [stroke.group for stroke in strokes]
        lowest, highest = min(groups) - REACH_ONSETS, max(groups) + REACH_ONSETS
        line = self.pairs.time_line_around(lowest, highest)
        return self._of(strokes, self.pairs.free_between(lowest, highest), line)

    def _of(self, strokes: Sequence[Stroke], free: Sequence[int], line: TimeLine) -> Possible:
        unexplained = self.pairs.unexplained(strokes)
        free = [note for note in (*free, *self._outside) if note not in self.pairs.taken]
        wrong_keys = WrongKeys(self.pairs, free, Held(self.pairs, line, self.shares))
        possible: Possible = {}
        for event in unexplained:
            in_place = wrong_keys.in_place_of(self.strokes[self.place_of[event]])
            possible[event] = {(note, IN_PLACE): cost for note, cost in in_place}
        for event, (note, cost) in restruck_notes(self.pairs, strokes, line).items():
            possible[event][note, struck_again(event)] = cost
        for event in self._tries(unexplained):
            place = self.place_of[event]
            for note, cost in chain(wrong_keys.put_right_by(place), wrong_keys.once_more(place)):
                for tries in range(_MOST_TRIES):
                    possible[event][note, 1 + tries] = cost + _ONE_MORE_TRY * tries
        return possible

    def _tries(self, unexplained: Sequence[int]) -> list[int]:
        """Return the keys that may have been put right: nobody tries many in a row."""
        rows: list[list[int]] = []
        for event in unexplained:
            if not rows or self.place_of[event] > self.place_of[rows[-1][-1]] + 1:
                rows.append([])
            rows[-1].append(event)
        return [event for row in rows if self._strikes(row) <= _MOST_TRIES for event in row]

    def _strikes(self, row: Sequence[int]) -> int:
        """Return how often the keys of a row were struck, together or alone."""
        times = self.pairs.times_ms
        return 1 + sum(times[after] - times[before] > TOGETHER_MS for before, after in pairwise(row))


def _just_outside(pairs: Pairs) -> list[int]:
    """Return the notes just before and just after a run, in the hands that began and ended it."""
    written, run = pairs.written, pairs.run
    begin, end = run.first_group, run.last_group + 1
    before = range(written.begun_from(begin, _ONSETS_OUTSIDE), begin)
    after = range(end, min(end + _ONSETS_OUTSIDE, len(written.members)))
    return [
        note
        for stroke, groups in ((run.strokes[0], before), (run.strokes[-1], after))
        for group in groups
        for note in written.members_in(group, stroke.hands)
    ]
