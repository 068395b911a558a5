"""What the keys of a run were: the one record that pairing and the explanation of slips write in."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Collection, Container, Sequence
from itertools import chain
from math import inf

from counterpane.listening.alignment.runs import Run, Stroke
from counterpane.listening.alignment.struck_keys import StruckKeys
from counterpane.listening.alignment.timeline import TimeLine, draw_time_line
from counterpane.listening.alignment.written import Written
from counterpane.model.piece import Hand

_SCRAMBLED_MS = 100.0
"""Neighbours in quick playing that come down in the wrong order within this time are both played."""

_AROUND = 6
"""So many onsets on either side tell when a note was due."""


class Pairs:
    """What the keys of a run were, by event; notes by index in `Written`.

    `attempted` are the notes between the first and the last onset of the run in the hands that were playing;
    `played`, `replaced` and `ornament` give the note of an event, `taken` the event that played a note; `restruck`
    the note of an earlier stroke of it, before the one that played it. Events are those of the whole performance;
    `usual_pace` is in ms a quarter note. What is drawn from the pairs is kept until they change.
    """

    def __init__(self, written: Written, run: Run, struck: StruckKeys, usual_pace: float) -> None:
        self.written = written
        self.run = run
        self.keys, self.times_ms, self.held_ms = struck.keys, struck.times_ms, struck.held_ms
        self.usual_pace = usual_pace
        self.attempted = _attempted(written, run)
        self.played: dict[int, int] = {}
        self.replaced: dict[int, int] = {}
        self.ornament: dict[int, int] = {}
        self.restruck: dict[int, int] = {}
        self.taken: dict[int, int] = {}
        self._rows: dict[Hand, list[int]] = {"right": [], "left": []}
        self._first_ms = [inf] * len(written.members)
        self._beside: dict[tuple[Hand, int], tuple[list[int], list[int]]] = {}
        self._line: TimeLine | None = None

    def take(self, event: int, note: int) -> None:
        """Say that the event played the note."""
        self.played[event] = note
        self.taken[note] = event
        group = self.written.group_of[note]
        self._first_ms[group] = min(self._first_ms[group], self.times_ms[event])
        insort(self._rows[self.written.notes[note].hand], note)
        self._forget_drawn()

    def take_back(self, event: int) -> int:
        """Say that the event did not play its note after all; return the note."""
        note = self.played.pop(event)
        del self.taken[note]
        group = self.written.group_of[note]
        self._first_ms[group] = self._first_played_ms(group)
        self._rows[self.written.notes[note].hand].remove(note)
        self._forget_drawn()
        return note

    def _forget_drawn(self) -> None:
        self._line = None
        self._beside.clear()

    def _first_played_ms(self, group: int, without: Container[int] = ()) -> float:
        """Return when an onset was first played, by other events than some: infinity, if it was not."""
        first = inf
        for note in self.written.members[group]:
            event = self.taken.get(note)
            if event is not None and event not in without:
                first = min(first, self.times_ms[event])
        return first

    def strike_again(self, event: int, note: int) -> None:
        """Say that the event was another stroke of a note that was played: the last of them played it."""
        first, last = sorted((event, self.taken[note]))
        self.take_back(self.taken[note])
        self.take(last, note)
        self.restruck[first] = note

    def row(self, hand: Hand) -> Sequence[int]:
        """Return the notes of a hand that were played, in order."""
        return self._rows[hand]

    def hand_neighbours(self, note: int) -> tuple[int | None, int | None]:
        """Return the first events that played the hand's last onset before this one and its next one after it."""
        before, after = self._onsets_beside(note)
        return min(before) if before else None, min(after) if after else None

    def keeps_order(self, note: int, event: int) -> bool:
        """Whether an event comes after the hand's onset before this one began and before the next one was over.

        Fingers that come down almost together may do so in either order, as in uneven playing of quick notes.
        """
        before, after = self._onsets_beside(note)
        time = self.times_ms[event]
        return (not before or self.times_ms[min(before)] < time + _SCRAMBLED_MS) and (
            not after or time < self.times_ms[max(after)] + _SCRAMBLED_MS
        )

    def _onsets_beside(self, note: int) -> tuple[list[int], list[int]]:
        """Return the events that played the hand's onset before a note's, and those of the onset after it."""
        hand, group = self.written.notes[note].hand, self.written.group_of[note]
        if (hand, group) not in self._beside:
            self._beside[hand, group] = self._find_beside(hand, group)
        return self._beside[hand, group]

    def _find_beside(self, hand: Hand, group: int) -> tuple[list[int], list[int]]:
        group_of, members, row = self.written.group_of, self.written.members[group], self._rows[hand]
        before, after = bisect_left(row, members[0]), bisect_left(row, members[-1] + 1)
        start, end = before, after
        while start > 0 and group_of[row[start - 1]] == group_of[row[before - 1]]:
            start -= 1
        while end < len(row) and group_of[row[end]] == group_of[row[after]]:
            end += 1
        return [self.taken[other] for other in row[start:before]], [self.taken[other] for other in row[after:end]]

    def unexplained(self, strokes: Sequence[Stroke] | None = None) -> list[int]:
        """Return the events of the run, or of some of its strokes, that are nothing yet."""
        events = [stroke.event for stroke in (self.run.strokes if strokes is None else strokes)]
        loose = [event for event in events if event not in self.played]
        known = self.replaced.keys() | self.ornament.keys() | self.restruck.keys() if loose else ()
        return [event for event in loose if event not in known]

    def free(self) -> list[int]:
        """Return the attempted notes that no event has played."""
        return sorted(self._untaken(self.attempted))

    def free_between(self, lowest: int, highest: int) -> list[int]:
        """Return those of them whose onsets have a number from one to another."""
        members = self.written.members[max(0, lowest) : highest + 1]
        return sorted(self._untaken(self.attempted.intersection(chain.from_iterable(members))))

    def _untaken(self, notes: set[int]) -> set[int]:
        twins, taken = self.written.twins, self.taken.keys()
        return notes - twins.keys() - taken - {twins[note] for note in twins.keys() & taken}

    def renumber(self, order: Sequence[int], struck: StruckKeys) -> None:
        """Give events their numbers in another order of the performance, whose keys these are."""
        self.keys, self.times_ms, self.held_ms = struck.keys, struck.times_ms, struck.held_ms
        self.played, self.replaced, self.ornament, self.restruck = (
            {order[event]: note for event, note in notes.items()}
            for notes in (self.played, self.replaced, self.ornament, self.restruck)
        )
        self.taken = {note: order[event] for note, event in self.taken.items()}
        self._first_ms = [self._first_played_ms(group) for group in range(len(self._first_ms))]
        self._forget_drawn()

    def are_clean(self) -> bool:
        """Whether every key of the run played a note, and every note that was attempted was played."""
        return not self.unexplained() and not self.free()

    def time_line(self) -> TimeLine:
        """Return the time line through the onsets that were played."""
        if self._line is None:
            self._line = self.time_line_around(self.run.lowest_group, self.run.highest_group)
        return self._line

    def time_line_around(self, lowest: int, highest: int, without: Collection[int] = ()) -> TimeLine:
        """Draw the time line from one onset to another and around them, as if some events had played nothing."""
        first, end = max(0, lowest - _AROUND), highest + _AROUND + 1
        onsets, times = self.written.onset_of_group[first:end], self._first_ms[first:end]
        for event in without:
            place = self.written.group_of[self.played[event]] - first if event in self.played else -1
            if 0 <= place < len(times):
                times[place] = self._first_played_ms(place + first, without)
        return draw_time_line(zip(onsets, times, strict=True), self.usual_pace)

    def time_line_without(self, event: int) -> TimeLine:
        """Draw the time line around a note as if the event had not played it."""
        group = self.written.group_of[self.played[event]]
        return self.time_line_around(group, group, (event,))


def _attempted(written: Written, run: Run) -> set[int]:
    found: set[int] = set()
    reached = run.first_group - 1 if run.strokes else 0
    for group, hands in dict.fromkeys((stroke.group, stroke.hands) for stroke in run.strokes):
        for passed in range(min(reached + 1, group), group + 1):
            found.update(written.members_in(passed, hands))
        reached = max(reached, group)
    return found
