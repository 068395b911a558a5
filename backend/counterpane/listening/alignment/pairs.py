"""What the keys of a run were: the one record that pairing and the explanation of slips write in."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Container, Sequence

from counterpane.listening.alignment.runs import Run
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
    `usual_pace` is in ms a quarter note.
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
        self._line: TimeLine | None = None

    def take(self, event: int, note: int) -> None:
        """Say that the event played the note."""
        self._line = None
        self.played[event] = note
        self.taken[note] = event
        insort(self._rows[self.written.notes[note].hand], note)

    def take_back(self, event: int) -> int:
        """Say that the event did not play its note after all; return the note."""
        self._line = None
        note = self.played.pop(event)
        del self.taken[note]
        self._rows[self.written.notes[note].hand].remove(note)
        return note

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
        return min(before, default=None), min(after, default=None)

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
        group_of, members = self.written.group_of, self.written.members[self.written.group_of[note]]
        row = self._rows[self.written.notes[note].hand]
        before, after = bisect_left(row, members[0]), bisect_left(row, members[-1] + 1)
        start, end = before, after
        while start > 0 and group_of[row[start - 1]] == group_of[row[before - 1]]:
            start -= 1
        while end < len(row) and group_of[row[end]] == group_of[row[after]]:
            end += 1
        return [self.taken[other] for other in row[start:before]], [self.taken[other] for other in row[after:end]]

    def unexplained(self) -> list[int]:
        """Return the events of the run that are nothing yet."""
        known = self.played.keys() | self.replaced.keys() | self.ornament.keys() | self.restruck.keys()
        return [stroke.event for stroke in self.run.strokes if stroke.event not in known]

    def free(self) -> list[int]:
        """Return the attempted notes that no event has played."""
        twins = self.written.twins
        taken = self.taken.keys() | {twins[note] for note in self.taken.keys() & twins.keys()}
        return sorted(self.attempted - twins.keys() - taken)

    def renumber(self, order: Sequence[int], struck: StruckKeys) -> None:
        """Give events their numbers in another order of the performance, whose keys these are."""
        self._line = None
        self.keys, self.times_ms, self.held_ms = struck.keys, struck.times_ms, struck.held_ms
        self.played, self.replaced, self.ornament, self.restruck = (
            {order[event]: note for event, note in notes.items()}
            for notes in (self.played, self.replaced, self.ornament, self.restruck)
        )
        self.taken = {note: order[event] for note, event in self.taken.items()}

    def are_clean(self) -> bool:
        """Whether every key of the run played a note, and every note that was attempted was played."""
        return not self.unexplained() and not self.free()

    def time_line(self) -> TimeLine:
        """Return the time line through the onsets that were played."""
        if self._line is None:
            self._line = self.time_line_without_any_of(())
        return self._line

    def time_line_without_any_of(self, without: Container[int]) -> TimeLine:
        """Draw the time line through the onsets that were played by other events than these."""
        first: dict[float, float] = {}
        onsets, times = self.written.onset_of, self.times_ms
        for event, note in self.played.items():
            if event not in without:
                onset, time = onsets[note], times[event]
                if onset not in first or time < first[onset]:
                    first[onset] = time
        return draw_time_line(first, self.usual_pace)

    def time_line_without(self, event: int) -> TimeLine:
        """Draw the time line around a note as if the event had not played it."""
        group = self.written.group_of[self.played[event]]
        first: dict[float, float] = {}
        for members in self.written.members[max(0, group - _AROUND) : group + _AROUND + 1]:
            times = [self.times_ms[self.taken[note]] for note in members if self.taken.get(note, event) != event]
            if times:
                first[self.written.onset_of[members[0]]] = min(times)
        return draw_time_line(first, self.usual_pace)


def _attempted(written: Written, run: Run) -> set[int]:
    found: set[int] = set()
    reached = run.first_group - 1 if run.strokes else 0
    for group, hands in dict.fromkeys((stroke.group, stroke.hands) for stroke in run.strokes):
        for passed in range(min(reached + 1, group), group + 1):
            found.update(written.members_in(passed, hands))
        reached = max(reached, group)
    return found
