"""Within a run: which key played which note.

The path says where the player was; here every key finds its note: the one that the path gave it, and where
notes of one pitch are repeated and some were left out or struck twice, the pairs that lie best in time, in
order (a small dynamic programme per pitch, against a time line drawn without that pitch). What remains is
explained in `slips`.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from counterpane.listening.alignment.runs import Run, Stroke
from counterpane.listening.alignment.timeline import TimeLine, draw_time_line
from counterpane.listening.alignment.written import Written

_AS_THE_PATH = 0.1
"""What the path's own pair is worth against one that lies better in time."""

_WORST_OF_PATH = 0.9
_OUTSIDE = 2.0
"""How much nearer in time a note must be that lies just outside the run."""


_ONE_ONSET_MS = 150.0
_SCRAMBLED_MS = 40.0
_LEFT_OVER = 0.5
_OUT_OF_TURN_ONSETS = 2
_SETTLE_ONSETS = 10
_MOST_CELLS = 10_000
_LEAST_TOLERANCE_MS = 250.0
_TOLERANCE_QUARTERS = 0.75


@dataclass
class Pairs:
    """What the keys of a run were, by event; notes by index in `Written`.

    `attempted` are the notes between the first and the last onset of the run in the hands that were playing.
    """

    attempted: set[int]
    played: dict[int, int] = field(default_factory=dict)
    replaced: dict[int, int] = field(default_factory=dict)
    ornament: dict[int, int] = field(default_factory=dict)
    taken: dict[int, int] = field(default_factory=dict)
    """The event that played each note."""

    def take(self, event: int, note: int) -> None:
        """Say that the event played the note."""
        self.played[event] = note
        self.taken[note] = event

    def hand_neighbours(self, written: Written, note: int) -> tuple[int | None, int | None]:
        """Return the events that played the hand's last note before this one and its next one after it."""
        hand, onset = written.notes[note].hand, written.onsets[note]
        earlier = (index for index in range(note - 1, -1, -1) if written.onsets[index] < onset)
        later = (index for index in range(note + 1, len(written.notes)) if written.onsets[index] > onset)
        before, after = (
            next((self.taken[i] for i in side if i in self.taken and written.notes[i].hand == hand), None)
            for side in (earlier, later)
        )
        return before, after

    def keeps_order(self, written: Written, note: int, event: int, times_ms: Sequence[float]) -> bool:
        """Whether an event comes after the hand's notes before this one and before those after it.

        Fingers that come down almost together may do so in either order.
        """
        before, after = self.hand_neighbours(written, note)
        time = times_ms[event]
        return (before is None or times_ms[before] < time + _SCRAMBLED_MS) and (
            after is None or time < times_ms[after] + _SCRAMBLED_MS
        )

    def unexplained(self, run: Run) -> list[int]:
        """Return the events of the run that are nothing yet."""
        known = self.played.keys() | self.replaced.keys() | self.ornament.keys()
        return [stroke.event for stroke in run.strokes if stroke.event not in known]

    def free(self, written: Written) -> list[int]:
        """Return the attempted notes that no event has played."""
        taken = {written.source(note) for note in self.taken}
        return sorted(note for note in self.attempted - written.twins.keys() if note not in taken)


def pair_played(written: Written, run: Run, keys: Sequence[int], times_ms: Sequence[float]) -> Pairs:
    """Pair the keys of a run with the notes that they played; `keys` and `times_ms` are by event."""
    pairs = Pairs(_attempted(written, run))
    for stroke in run.strokes:
        if stroke.takes:
            note = _written_there(written, pairs, stroke.group, keys[stroke.event], stroke.hands)
            if note is not None:
                pairs.take(stroke.event, note)
    _settle_repeated_keys(written, run, pairs, keys, times_ms)
    _pair_second_strokes(written, run, pairs, keys, times_ms)
    return pairs


def _pair_second_strokes(
    written: Written, run: Run, pairs: Pairs, keys: Sequence[int], times_ms: Sequence[float]
) -> None:
    """Where both hands have one key at one onset and it was struck twice, give each hand its stroke."""
    if not written.twins:
        return
    loose = pairs.unexplained(run)
    for note, source in written.twins.items():
        first = pairs.taken.get(source)
        if first is None:
            continue
        for event in loose:
            if keys[event] == written.keys[note] and abs(times_ms[event] - times_ms[first]) <= _ONE_ONSET_MS:
                pairs.take(event, note)
                loose.remove(event)
                break


def time_line(written: Written, pairs: Pairs, times_ms: Sequence[float], without: Iterable[int] = ()) -> TimeLine:
    """Draw the time line through the onsets that were played; events in `without` are left out."""
    left_out = set(without)
    first: dict[float, float] = {}
    for event, note in pairs.played.items():
        if event not in left_out:
            onset = float(written.onsets[note])
            first[onset] = min(first.get(onset, times_ms[event]), times_ms[event])
    return draw_time_line(first)


def _attempted(written: Written, run: Run) -> set[int]:
    found: set[int] = set()
    reached = run.first_group - 1
    for stroke in run.strokes:
        for group in range(min(reached + 1, stroke.group), stroke.group + 1):
            found.update(note for note in written.members[group] if written.is_in(note, stroke.hands))
        reached = max(reached, stroke.group)
    return found


def _written_there(written: Written, pairs: Pairs, group: int, key: int, hands: str) -> int | None:
    for note in written.by_group_and_key.get((group, key), ()):
        if note not in pairs.taken and (
            note not in written.twins if hands == "both" else written.is_in(note, hands)
        ):
            return note
    return None


def _settle_repeated_keys(
    written: Written, run: Run, pairs: Pairs, keys: Sequence[int], times_ms: Sequence[float]
) -> None:
    """Pair again, near every note or stroke that was left over, the keys of its pitch."""
    loose: dict[int, list[tuple[int, int | None, int | None]]] = defaultdict(list)
    free = pairs.free(written)
    for note in free:
        loose[int(written.keys[note])].append((int(written.groups[note]), None, note))
    unexplained = set(pairs.unexplained(run))
    for stroke in run.strokes:
        key = keys[stroke.event]
        if stroke.event in unexplained and not _is_wrong_key(written, pairs, stroke, key):
            loose[key].append((stroke.group, stroke.event, None))
    if not loose:
        return
    played: dict[int, list[tuple[int, int | None, int | None]]] = defaultdict(list)
    for event, note in pairs.played.items():
        played[keys[event]].append((int(written.groups[note]), event, note))
    for key in sorted(loose):
        places = sorted({group for group, _, _ in loose[key]})
        found = loose[key] + [pair for pair in played[key] if _is_near(pair[0], places)]
        events = sorted({event for _, event, _ in found if event is not None})
        notes = {note for _, _, note in found if note is not None} | set(_out_of_turn(written, run, pairs, key))
        if 0 < len(events) * len(notes) <= _MOST_CELLS:  # beyond, keys are hammered and no order can be told
            _settle(written, pairs, events, sorted(notes), times_ms)


def _is_wrong_key(written: Written, pairs: Pairs, stroke: Stroke, key: int) -> bool:
    """Whether the path took the key for a wrong one, and no note of that key was passed over just before."""
    table = written.by_group_and_key
    just_before = (table.get((stroke.group - onsets, key), ()) for onsets in range(1, _OUT_OF_TURN_ONSETS + 1))
    late = any(note not in pairs.taken for notes in just_before for note in notes)
    return stroke.takes and (stroke.group, key) not in table and not late


def _is_near(group: int, places: Sequence[int]) -> bool:
    """Whether an onset lies within reach of one of some places in rising order."""
    index = bisect_left(places, group - _SETTLE_ONSETS)
    return index < len(places) and places[index] <= group + _SETTLE_ONSETS


def _out_of_turn(written: Written, run: Run, pairs: Pairs, key: int) -> list[int]:
    """Return notes of a pitch that lie just outside what the run attempted."""
    low, high = run.lowest_group - _OUT_OF_TURN_ONSETS, run.highest_group + _OUT_OF_TURN_ONSETS
    places = written.by_key.get(key, [])
    groups = [int(written.groups[note]) for note in places]
    inside = places[bisect_left(groups, low) : bisect_left(groups, high + 1)]
    return [note for note in inside if note not in pairs.attempted and note not in pairs.taken]


def _settle(
    written: Written, pairs: Pairs, events: Sequence[int], notes: Sequence[int], times_ms: Sequence[float]
) -> None:
    line = time_line(written, pairs, times_ms, without=events)
    if len(line.onsets) < 2:
        return
    by_path = {event: pairs.played.pop(event) for event in events if event in pairs.played}
    for note in by_path.values():
        del pairs.taken[note]

    def misfit(event: int, note: int) -> float:
        onset = float(written.onsets[note])
        tolerance = max(_LEAST_TOLERANCE_MS, _TOLERANCE_QUARTERS * line.pace(onset))
        share = line.misfit_ms(onset, times_ms[event]) / tolerance
        if by_path.get(event) == note:
            return min(share, _WORST_OF_PATH) - _AS_THE_PATH
        if note not in pairs.attempted:
            share *= _OUTSIDE
        return share if pairs.keeps_order(written, note, event, times_ms) else math.inf

    misfits = [[misfit(event, note) for note in notes] for event in events]
    for row_number, column in _match_in_order(misfits):
        pairs.take(events[row_number], notes[column])


def _match_in_order(misfits: Sequence[Sequence[float]]) -> list[tuple[int, int]]:
    """Pair rows with columns in order so that the sum of misfits and of leftovers is least.

    A leftover on either side costs one half, so that a pair with a misfit above 1 is not made.
    """
    rows, columns = len(misfits), len(misfits[0])
    cost = [[_LEFT_OVER * (row + column) for column in range(columns + 1)] for row in range(rows + 1)]
    for row in range(1, rows + 1):
        for column in range(1, columns + 1):
            pair = cost[row - 1][column - 1] + misfits[row - 1][column - 1]
            cost[row][column] = min(pair, cost[row - 1][column] + _LEFT_OVER, cost[row][column - 1] + _LEFT_OVER)
    found = []
    row, column = rows, columns
    while row and column:
        if cost[row][column] == cost[row - 1][column - 1] + misfits[row - 1][column - 1]:
            row, column = row - 1, column - 1
            found.append((row, column))
        elif cost[row][column] == cost[row - 1][column] + _LEFT_OVER:
            row -= 1
        else:
            column -= 1
    return found
