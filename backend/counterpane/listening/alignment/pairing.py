"""Within a run: which key played which note, which stood for another, which was added.

The path says where the player was; here every key finds its note. Keys of the right pitch first: the one the
path gave them, and where notes of one pitch are repeated and some were left out or struck twice, the pairs
that lie best in time, in order (a small dynamic programme per pitch, against a time line drawn without that
pitch). What remains is explained in turn as part of an ornament, as a wrong key in place of a note, as a
wrong key that was put right at once, and else as added.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median

from counterpane.listening.alignment.runs import Run
from counterpane.listening.alignment.written import Written

_TOGETHER_MS = 45.0
_AS_THE_PATH = 0.2
"""What the path's own pair is worth against one that lies better in time."""

_DEFAULT_MS_PER_QUARTER = 500.0


@dataclass
class Pairs:
    """What the keys of a run were, by event; notes by index in `Written`."""

    played: dict[int, int] = field(default_factory=dict)
    replaced: dict[int, int] = field(default_factory=dict)
    ornament: dict[int, int] = field(default_factory=dict)
    attempted: set[int] = field(default_factory=set)


@dataclass(frozen=True)
class TimeLine:
    """When each onset was or would have been played, from the onsets that were.

    `ms_per_quarter` is the median pace between neighbouring onsets, so that pauses do not count.
    """

    onsets: tuple[float, ...]
    times_ms: tuple[float, ...]
    ms_per_quarter: float

    def misfit_ms(self, onset: float, time_ms: float) -> float:
        """Return how far a time is from where the onset may lie.

        An onset between two that were played lies at the usual pace after the earlier one, or before the
        later one, or in proportion between them: a pause may have come on either side, or neither.
        """
        return min(abs(time_ms - expected) for expected in self._expected(onset))

    def _expected(self, onset: float) -> list[float]:
        index = bisect_left(self.onsets, onset)
        expected = []
        if index < len(self.onsets):
            expected.append(self.times_ms[index] + (onset - self.onsets[index]) * self.ms_per_quarter)
        if index > 0:
            expected.append(self.times_ms[index - 1] + (onset - self.onsets[index - 1]) * self.ms_per_quarter)
        if len(expected) == 2:
            share = (onset - self.onsets[index - 1]) / (self.onsets[index] - self.onsets[index - 1])
            expected.append(self.times_ms[index - 1] + share * (self.times_ms[index] - self.times_ms[index - 1]))
        return expected

    def at(self, onset: float) -> float:
        """Return the expected time of an onset in milliseconds, between its neighbours in proportion."""
        return self._expected(onset)[-1]


class RunPairing:
    """Pairs the keys of one run with the notes of the passage."""

    def __init__(self, written: Written, run: Run, keys: Sequence[int], times_ms: Sequence[float]) -> None:
        self.written = written
        self.strokes = run.strokes
        self.keys = keys
        self.times = times_ms
        self.events = [stroke.event for stroke in run.strokes]
        self.group_of = {stroke.event: stroke.group for stroke in run.strokes}
        self.takes = {stroke.event for stroke in run.strokes if stroke.takes}
        self.taken: dict[int, int] = {}
        self.pairs = Pairs(attempted=self._attempted())

    def pair(self) -> Pairs:
        """Return what every key of the run was."""
        self._follow_path()
        self._settle_repeated_keys()
        line = self._time_line()
        self._explain_ornaments(line)
        self._explain_wrong_keys(line)
        self._explain_corrections(line)
        self.pairs.attempted |= set(self.taken)
        return self.pairs

    def _attempted(self) -> set[int]:
        """Return the notes between the first and the last onset of the run in the hands that were playing."""
        found: set[int] = set()
        notes = range(len(self.written.notes))
        groups = self.written.groups.tolist()
        first_note = [bisect_left(groups, group) for group in range(len(self.written.group_onsets) + 1)]
        reached = self.strokes[0].group - 1
        for stroke in self.strokes:
            for index in notes[first_note[min(reached + 1, stroke.group)] : first_note[stroke.group + 1]]:
                if stroke.hands in ("both", self.written.notes[index].hand):
                    found.add(index)
            reached = max(reached, stroke.group)
        return found

    def _take(self, event: int, note: int) -> None:
        self.pairs.played[event] = note
        self.taken[note] = event

    def _follow_path(self) -> None:
        table = self.written.by_group_and_key
        for stroke in self.strokes:
            if stroke.takes:
                for note in table.get((stroke.group, self.keys[stroke.event]), ()):
                    if note not in self.taken and note not in self.written.twins:
                        self._take(stroke.event, note)
                        break

    def _unexplained(self) -> list[int]:
        pairs = self.pairs
        return [
            event
            for event in self.events
            if event not in pairs.played and event not in pairs.replaced and event not in pairs.ornament
        ]

    def _free(self) -> list[int]:
        return sorted(
            note
            for note in self.pairs.attempted
            if note not in self.taken
            and note not in self.written.twins
            and note not in self.pairs.replaced.values()
        )

    def _time_line(self, without_key: int | None = None) -> TimeLine:
        first: dict[int, float] = {}
        for event, note in self.pairs.played.items():
            if self.keys[event] != without_key:
                group = int(self.written.groups[note])
                first[group] = min(first.get(group, self.times[event]), self.times[event])
        onsets, times = [], []
        for group, time in sorted(first.items()):
            if not times or time > times[-1]:
                onsets.append(float(self.written.group_onsets[group]))
                times.append(time)
        paces = [
            (later - earlier) / (after - before)
            for (before, after), (earlier, later) in zip(pairwise(onsets), pairwise(times), strict=True)
        ]
        return TimeLine(tuple(onsets), tuple(times), median(paces) if paces else _DEFAULT_MS_PER_QUARTER)

    def _settle_repeated_keys(self) -> None:
        """Pair again the keys of every pitch of which a note or a stroke was left over."""
        loose_notes = defaultdict(list)
        for note in self._free():
            loose_notes[int(self.written.keys[note])].append(note)
        loose_events = defaultdict(list)
        for event in self._unexplained():
            if event not in self.takes:  # the path took those that it takes for a wrong key
                loose_events[self.keys[event]].append(event)
        for key in sorted(set(loose_notes) | set(loose_events)):
            self._settle(key, loose_notes[key], loose_events[key])

    def _settle(self, key: int, loose_notes: Sequence[int], loose_events: Sequence[int]) -> None:
        paired = {event: note for event, note in self.pairs.played.items() if self.keys[event] == key}
        low, high = min(self.group_of.values()), max(self.group_of.values())
        outside = [
            note
            for note in self._notes_of_key(key, low - 2, high + 2)
            if note not in self.pairs.attempted and note not in self.taken
        ]
        notes = sorted({*paired.values(), *loose_notes, *outside})
        events = sorted({*paired, *loose_events})
        if not notes or not events or (not loose_events and len(paired) == 0):
            return
        line = self._time_line(without_key=key)
        if len(line.onsets) < 2:
            return
        for event, note in paired.items():
            del self.pairs.played[event], self.taken[note]
        tolerance = max(250.0, 0.75 * line.ms_per_quarter)
        misfits = [
            [self._misfit(event, note, line, tolerance, paired.get(event) == note) for note in notes]
            for event in events
        ]
        for row, column in _match_in_order(misfits):
            self._take(events[row], notes[column])

    def _misfit(self, event: int, note: int, line: TimeLine, tolerance: float, as_the_path: bool) -> float:
        misfit = line.misfit_ms(float(self.written.onsets[note]), self.times[event]) / tolerance
        return min(misfit, 0.9) - _AS_THE_PATH if as_the_path else misfit

    def _notes_of_key(self, key: int, low: int, high: int) -> list[int]:
        table = self.written.by_group_and_key
        return [
            note
            for group in range(max(0, low), min(high, len(self.written.group_onsets) - 1) + 1)
            for note in table.get((group, key), ())
            if note not in self.written.twins
        ]

    def _explain_ornaments(self, line: TimeLine) -> None:
        """Give the extra keys of a written ornament to the note that carries it."""
        for ornamented in self.written.ornamented:
            if ornamented.note not in self.taken:
                continue
            begin = line.at(ornamented.start) - 0.5 * line.ms_per_quarter
            end = line.at(ornamented.end)
            for event in self._unexplained():
                if begin <= self.times[event] <= end and self.keys[event] in ornamented.keys:
                    self.pairs.ornament[event] = ornamented.note

    def _explain_wrong_keys(self, line: TimeLine) -> None:
        """Pair what is left of keys and notes, nearest in time and pitch first, each hand in its order."""
        free = self._free()
        candidates = []
        for event in self._unexplained():
            for note in free:
                cost = self._wrong_key_cost(event, note, line)
                if cost is not None:
                    candidates.append((cost, event, note))
        for _, event, note in sorted(candidates):
            if event not in self.pairs.replaced and note not in self.pairs.replaced.values():
                self.pairs.replaced[event] = note

    def _wrong_key_cost(self, event: int, note: int, line: TimeLine) -> float | None:
        group = int(self.written.groups[note])
        if abs(group - self.group_of[event]) > 2:
            return None
        before, after = self._neighbours_in_hand(note)
        if not before < self.times[event] < after:
            return None
        gap = self._local_gap(group, line)
        late = line.misfit_ms(float(self.written.onsets[note]), self.times[event])
        path_agrees = event in self.takes and self.group_of[event] == group
        if late > max(120.0, 0.6 * gap) and not path_agrees:
            return None
        semitones = abs(self.keys[event] - int(self.written.keys[note]))
        return late / gap + (0.0 if semitones in (1, 2, 12) else min(0.05 * semitones, 0.8)) - 0.5 * path_agrees

    def _local_gap(self, group: int, line: TimeLine) -> float:
        """Return the time between the onsets around this one, in milliseconds."""
        onsets = self.written.group_onsets
        low, high = max(0, group - 1), min(len(onsets) - 1, group + 1)
        return max(30.0, (line.at(float(onsets[high])) - line.at(float(onsets[low]))) / max(1, high - low))

    def _neighbours_in_hand(self, note: int) -> tuple[float, float]:
        """Return when the hand's last note before and its next note after were played."""
        hand, onset = self.written.notes[note].hand, self.written.onsets[note]
        before, after = float("-inf"), float("inf")
        for index in range(note - 1, -1, -1):
            if (
                index in self.taken
                and self.written.notes[index].hand == hand
                and self.written.onsets[index] < onset
            ):
                before = self.times[self.taken[index]]
                break
        for index in range(note + 1, len(self.written.notes)):
            if (
                index in self.taken
                and self.written.notes[index].hand == hand
                and self.written.onsets[index] > onset
            ):
                after = self.times[self.taken[index]]
                break
        return before, after

    def _quarters_since_hand(self, note: int) -> float:
        """Return how long after the hand's note before this one is written."""
        hand, onset = self.written.notes[note].hand, float(self.written.onsets[note])
        for index in range(note - 1, -1, -1):
            if self.written.notes[index].hand == hand and self.written.onsets[index] < onset:
                return onset - float(self.written.onsets[index])
        return 0.25

    def _explain_corrections(self, line: TimeLine) -> None:
        """Give a wrong key that was put right at once to the note for which it stood."""
        order = {event: place for place, event in enumerate(self.events)}
        for event in reversed(self._unexplained()):
            for follower in self.events[order[event] + 1 : order[event] + 4]:
                note = self.pairs.played.get(follower, self.pairs.replaced.get(follower))
                if note is not None and self._is_corrected(event, follower, note, line):
                    self.pairs.replaced[event] = note
                    break

    def _is_corrected(self, event: int, follower: int, note: int, line: TimeLine) -> bool:
        semitones = abs(self.keys[event] - int(self.written.keys[note]))
        between = self.times[follower] - self.times[event]
        if semitones == 0 or between < _TOGETHER_MS or between > 4 * line.ms_per_quarter:
            return False
        before, _ = self._neighbours_in_hand(note)
        if self.times[event] - before < 0.4 * line.ms_per_quarter * self._quarters_since_hand(note):
            return False
        return semitones <= 3 or semitones == 12 or (semitones <= 7 and between > 0.25 * line.ms_per_quarter)


def _match_in_order(misfits: Sequence[Sequence[float]]) -> Iterable[tuple[int, int]]:
    """Pair rows with columns in order so that the sum of misfits and of leftovers is least.

    A leftover on either side costs one half, so that a pair with a misfit above 1 is not made.
    """
    rows, columns = len(misfits), len(misfits[0])
    cost = [[0.5 * (row + column) for column in range(columns + 1)] for row in range(rows + 1)]
    for row in range(1, rows + 1):
        for column in range(1, columns + 1):
            pair = cost[row - 1][column - 1] + misfits[row - 1][column - 1]
            cost[row][column] = min(pair, cost[row - 1][column] + 0.5, cost[row][column - 1] + 0.5)
    pairs = []
    row, column = rows, columns
    while row and column:
        if cost[row][column] == cost[row - 1][column - 1] + misfits[row - 1][column - 1]:
            row, column = row - 1, column - 1
            pairs.append((row, column))
        elif cost[row][column] == cost[row - 1][column] + 0.5:
            row -= 1
        else:
            column -= 1
    return reversed(pairs)
