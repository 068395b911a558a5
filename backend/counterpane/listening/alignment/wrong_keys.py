"""What a wrong key stood for: every note that is possible, and what it costs to say so.

A wrong key came in place of a note that was not played, or it was put right and stood for the note that followed;
now and then a note that was right is taken once more and missed. A wrong key is struck about when its note is due,
in the order of its hand's notes, not far from the right key, and held about as long as its note (`held`). Costs
are in nats, roughly minus the logarithm of how often people miss by so much. Their order comes from how people
practise; their sizes were fitted to simulated sessions and rounded. No single one matters much: a change of any by
a third changes the share of notes named by less than half a point.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence

from counterpane.listening.alignment.held import ON_AVERAGE, Held
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.runs import Stroke
from counterpane.listening.alignment.timeline import TimeLine
from counterpane.model.piece import Hand

MOST = 8.0
"""What costs more is no explanation: the key was added."""

REACH_ONSETS = 3
"""A key stands for no note further than this from where the path has it, or from the note whose key it is."""

_REACH_SEMITONES = 14
_PITCH = {1: 0.0, 2: 0.0, 12: 0.7}
_PITCH_FAR, _PITCH_VERY_FAR = 2.0, 5.0
"""The next key, the next of the scale and the octave are struck by mistake more often than any other ..."""

_OCTAVE = 12

_TIME_SD_MS, _MOST_TIME = 100.0, 2.5
"""... and a key comes when it is due, give or take so much; a pause may lie anywhere."""

_STEP = (0.2, 0.4, 0.6, 0.8, 1.3), (3.0, 2.5, 1.5, 0.8, 0.0, 0.5)
"""For the step from the hand's last note to the key, or from it to the next one, as a share of what is written.

Limits, and what a share below each of them costs; at last what one beyond all of them does.
"""

_FIRST_OR_LAST = 0.7
"""The hand has no note before, or after, that would tell."""

_ONSETS_AWAY = 0.7
"""For each onset away from where the path has the key."""

_OUTSIDE = 0.7
"""For a note before or after what the run has played."""

_PUT_RIGHT = -0.5
_KEY_BETWEEN = 0.5
"""For each note struck between the wrong key and the right one."""

_NEAR_KEYS = 6
_LONGEST_QUARTERS = 4.0
_DELAYS = (60.0, 250.0, 400.0, 1600.0), (6.0, 3.5, 1.7, 0.0, 2.0)
"""Milliseconds from the wrong key to the right one: hearing a slip and mending it takes a while."""

_LATENESS = (50.0, 100.0, 200.0), (3.0, 2.0, 0.8, 0.0)
"""Milliseconds by which the right key is late: what is put right is late."""

_PASSED_OVER, _PASSED_ONSETS = 1.3, 2
"""When the hand had a note so few onsets before, which then was left out although a key was struck."""

_PLAYED_BEFORE = 6.5
"""Who has played a note seldom goes back to it alone: only what suits it well is said to be that."""

TOGETHER_MS = 45.0


class WrongKeys:
    """The possible explanations of a run's wrong keys, when its right ones are paired with their notes.

    `free` are the notes that were not played; `held`, with its time line, is good around them.
    """

    def __init__(self, pairs: Pairs, free: Sequence[int], held: Held) -> None:
        self.pairs = pairs
        self.written = pairs.written
        self.keys, self.times = pairs.keys, pairs.times_ms
        self.strokes = pairs.run.strokes
        self.held = held
        self.line = held.line
        self._lines: dict[int, TimeLine] = {}
        self.free: dict[int, list[int]] = defaultdict(list)
        for note in free:
            self.free[self.written.group_of[note]].append(note)

    def in_place_of(self, stroke: Stroke) -> Iterator[tuple[int, float]]:
        """Yield the notes in whose place a key may have been struck, and the cost of each."""
        event = stroke.event
        for group in range(stroke.group - REACH_ONSETS, stroke.group + REACH_ONSETS + 1):
            for note in self.free.get(group, ()):
                pitch = pitch_cost(self.keys[event] - self.written.key_of[note])
                if pitch is None or not self.pairs.keeps_order(note, event):
                    continue
                before, after = self.pairs.hand_neighbours(note)
                cost = (
                    pitch
                    + time_cost(self.line, self.written.onset_of[note], self.times[event])
                    + self._step_before(event, note, before)
                    + self._step_after(event, note, after)
                    + self.held.cost(event, note)
                    + _ONSETS_AWAY * abs(group - stroke.group)
                    + (0.0 if note in self.pairs.attempted else _OUTSIDE)
                )
                if cost < MOST:
                    yield note, cost

    def put_right_by(self, place: int) -> Iterator[tuple[int, float]]:
        """Yield the notes that were played after the key at this place in the run, and the cost of each.

        Of those that follow, one is meant only if it costs less than all before it.
        """
        stroke = self.strokes[place]
        event, time = stroke.event, self.times[stroke.event]
        longest = _LONGEST_QUARTERS * self.line.pace(self.written.onset_of_group[stroke.group])
        between: list[float] = []
        least = MOST
        for follower in (other.event for other in self.strokes[place + 1 :][:_NEAR_KEYS]):
            note = self.pairs.played.get(follower)
            if note is None:
                continue
            delay = self.times[follower] - time
            pitch = pitch_cost(self.keys[event] - self.keys[follower])
            if pitch is not None and TOGETHER_MS < delay < longest:
                # what is quickly found comes first: the rest is needed for few
                keys_between = sum(self.times[follower] - other > TOGETHER_MS for other in between)
                cost = (
                    _PUT_RIGHT
                    + pitch
                    + _graded(delay, _DELAYS)
                    + _KEY_BETWEEN * keys_between
                    + _ONSETS_AWAY * abs(self.written.group_of[note] - stroke.group)
                )
                if cost < least:
                    cost += self._cost_at_its_time(event, note, follower)
                if cost < least:
                    cost += time_cost(self._line_without(follower), self.written.onset_of[note], time)
                if cost < least:
                    least = cost
                    yield note, cost
            between.append(self.times[follower])

    def _cost_at_its_time(self, event: int, note: int, follower: int) -> float:
        """Return what it costs to say that a key came when the note was due that a later event then played."""
        before, _ = self.pairs.hand_neighbours(note)
        return (
            self._step_before(event, note, before)
            + self._lateness(follower, note, before)
            + self.held.cost_put_right(event, note)
            + (_PASSED_OVER if self._passes_over(note, before) else 0.0)
        )

    def once_more(self, place: int) -> Iterator[tuple[int, float]]:
        """Yield the notes that were played before the key at this place, and the cost of trying each once more."""
        stroke = self.strokes[place]
        for other in self.strokes[max(0, place - _NEAR_KEYS) : place]:
            note = self.pairs.played.get(other.event)
            pitch = pitch_cost(self.keys[stroke.event] - self.keys[other.event])
            if note is None or pitch is None:
                continue
            cost = _PLAYED_BEFORE + pitch + _ONSETS_AWAY * abs(self.written.group_of[note] - stroke.group)
            least_possible = cost - ON_AVERAGE
            if least_possible < MOST and not self._comes_with_right_key(place, note):
                cost += self.held.cost(stroke.event, note)
                if cost < MOST:
                    yield note, cost

    def _comes_with_right_key(self, place: int, note: int) -> bool:
        """Whether the key at this place came with the one that played the note, or with one of another onset."""
        time, group_of = self.times[self.strokes[place].event], self.written.group_of
        near = self.strokes[max(0, place - _NEAR_KEYS) : place + _NEAR_KEYS + 1]
        together = [
            self.pairs.played[stroke.event]
            for stroke in near
            if stroke.event in self.pairs.played and abs(self.times[stroke.event] - time) <= TOGETHER_MS
        ]
        return any(other == note or group_of[other] != group_of[note] for other in together)

    def _line_without(self, event: int) -> TimeLine:
        if event not in self._lines:
            self._lines[event] = self.pairs.time_line_without(event)
        return self._lines[event]

    def _step_before(self, event: int, note: int, before: int | None) -> float:
        if before is None:
            return _FIRST_OR_LAST
        share = (self.times[event] - self.times[before]) / self._written_ms(self.pairs.played[before], note)
        return _graded(share, _STEP)

    def _step_after(self, event: int, note: int, after: int | None) -> float:
        if after is None:
            return _FIRST_OR_LAST
        share = (self.times[after] - self.times[event]) / self._written_ms(note, self.pairs.played[after])
        return _graded(share, _STEP)

    def _lateness(self, event: int, note: int, before: int | None) -> float:
        if before is None:
            return 0.0
        due = self.times[before] + self._written_ms(self.pairs.played[before], note)
        return _graded(self.times[event] - due, _LATENESS)

    def _written_ms(self, note: int, later: int) -> float:
        """Return the time from one note to a later one at the pace around them."""
        onset, following = self.written.onset_of[note], self.written.onset_of[later]
        return (following - onset) * self.line.pace(following)

    def _passes_over(self, note: int, before: int | None) -> bool:
        """Whether the hand has a note that was not played between this one and the last that was."""
        group, hand = self.written.group_of[note], self.written.notes[note].hand
        start = -1 if before is None else self.written.group_of[self.pairs.played[before]]
        groups = range(max(start + 1, group - _PASSED_ONSETS), group)
        return any(self._is_in(other, hand) for near in groups for other in self.free.get(near, ()))

    def _is_in(self, note: int, hand: Hand) -> bool:
        return self.written.notes[note].hand == hand


def pitch_cost(semitones: int) -> float | None:
    """Return what it costs to strike a key so far from the right one, if it is a wrong one and not too far."""
    distance = abs(semitones)
    if distance == 0 or distance > _REACH_SEMITONES:
        return None
    return _PITCH.get(distance, _PITCH_FAR if distance <= _OCTAVE else _PITCH_VERY_FAR)


def time_cost(line: TimeLine, onset: float, time_ms: float, most: float = _MOST_TIME) -> float:
    """Return what it costs to strike at a time a note of an onset (in quarters) that may be due at some others."""
    return min(most, 0.5 * (line.misfit_ms(onset, time_ms) / _TIME_SD_MS) ** 2)


def _graded(value: float, grades: tuple[Sequence[float], Sequence[float]]) -> float:
    """Return the cost of a value, from limits in rising order and the costs below each and beyond the last."""
    limits, costs = grades
    return costs[bisect_right(limits, value)]
