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
from collections.abc import Sequence

from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.runs import Stroke

_AS_THE_PATH = 0.1
"""What the path's own pair is worth against one that lies better in time."""

_WORST_OF_PATH = 0.9
_OUTSIDE = 2.0
"""How much nearer in time a note must be that lies just outside the run."""

_ONE_ONSET_MS = 150.0
_CHORD = 3
_ROLL_MS = 70.0
"""A rolled chord takes at most so long for each of its notes."""

_LEFT_OVER = 0.5
_OUT_OF_TURN_ONSETS = 2
_SETTLE_ONSETS = 10
_MOST_CELLS = 10_000
_LEAST_TOLERANCE_MS = 250.0
_TOLERANCE_QUARTERS = 0.75


def pair_played(pairs: Pairs) -> None:
    """Pair the keys of a run with the notes that they played."""
    for stroke in pairs.run.strokes:
        if stroke.takes:
            note = _written_there(pairs, stroke)
            if note is not None:
                pairs.take(stroke.event, note)
    _settle_repeated_keys(pairs)
    _pair_within_rolled_chords(pairs)
    _pair_second_strokes(pairs)


def _written_there(pairs: Pairs, stroke: Stroke) -> int | None:
    written = pairs.written
    for note in written.by_group_and_key.get((stroke.group, pairs.keys[stroke.event]), ()):
        if note not in pairs.taken and (
            note not in written.twins if stroke.hands == "both" else written.is_in(note, stroke.hands)
        ):
            return note
    return None


def _pair_within_rolled_chords(pairs: Pairs) -> None:
    """Pair what is left of a rolled chord, and quick notes that came when they were due before it was over."""
    free = [note for note in pairs.free() if _is_beside_chord(pairs, note)]
    loose = pairs.unexplained() if free else []
    if not loose:
        return
    line = pairs.time_line()
    for note in free:
        key, onset = pairs.written.key_of[note], pairs.written.onset_of[note]
        misfits = {
            event: line.misfit_ms(onset, pairs.times_ms[event]) for event in loose if pairs.keys[event] == key
        }
        nearest = min(misfits, key=misfits.__getitem__, default=None)
        members = pairs.written.members[pairs.written.group_of[note]]
        if nearest is not None and misfits[nearest] <= max(_ONE_ONSET_MS, _ROLL_MS * len(members)):
            pairs.take(nearest, note)
            loose.remove(nearest)


def _is_beside_chord(pairs: Pairs, note: int) -> bool:
    group = pairs.written.group_of[note]
    return any(len(members) >= _CHORD for members in pairs.written.members[max(0, group - 1) : group + 1])


def _pair_second_strokes(pairs: Pairs) -> None:
    """Where both hands have one key at one onset and it was struck twice, give each hand its stroke."""
    loose = pairs.unexplained() if pairs.written.twins else []
    for note, source in pairs.written.twins.items() if loose else ():
        first = pairs.taken.get(source)
        if first is None:
            continue
        for event in loose:
            if pairs.keys[event] == pairs.written.key_of[note] and (
                abs(pairs.times_ms[event] - pairs.times_ms[first]) <= _ONE_ONSET_MS
            ):
                pairs.take(event, note)
                loose.remove(event)
                break


def _settle_repeated_keys(pairs: Pairs) -> None:
    """Pair again, near every note or stroke that was left over, the keys of its pitch."""
    written, keys = pairs.written, pairs.keys
    loose: dict[int, list[tuple[int, int | None, int | None]]] = defaultdict(list)
    for note in pairs.free():
        loose[written.key_of[note]].append((written.group_of[note], None, note))
    unexplained = set(pairs.unexplained())
    for stroke in pairs.run.strokes:
        if stroke.event in unexplained and not _is_wrong_key(pairs, stroke):
            loose[keys[stroke.event]].append((stroke.group, stroke.event, None))
    if not loose:
        return
    played: dict[int, list[tuple[int, int | None, int | None]]] = defaultdict(list)
    for event, note in pairs.played.items():
        played[keys[event]].append((written.group_of[note], event, note))
    lowest, highest = pairs.run.lowest_group, pairs.run.highest_group
    for key in sorted(loose):
        places = sorted({group for group, _, _ in loose[key]})
        found = loose[key] + [pair for pair in played[key] if _is_near(pair[0], places)]
        events = sorted({event for _, event, _ in found if event is not None})
        notes = {note for _, _, note in found if note is not None} | set(_out_of_turn(pairs, key, lowest, highest))
        if 0 < len(events) * len(notes) <= _MOST_CELLS:  # beyond, keys are hammered and no order can be told
            _settle(pairs, events, sorted(notes))


def _is_wrong_key(pairs: Pairs, stroke: Stroke) -> bool:
    """Whether the path took the key for a wrong one, and it may not have played a note of its own near there.

    That is one passed over just before, or one just before or after that another stroke was given.
    """
    table, key = pairs.written.by_group_and_key, pairs.keys[stroke.event]
    if not stroke.takes or (stroke.group, key) in table:
        return False
    reach = range(1, _OUT_OF_TURN_ONSETS + 1)
    before = any((stroke.group - onsets, key) in table for onsets in reach)
    after = (note for onsets in reach for note in table.get((stroke.group + onsets, key), ()))
    return not before and not any(note in pairs.taken for note in after)


def _is_near(group: int, places: Sequence[int]) -> bool:
    """Whether an onset lies within reach of one of some places in rising order."""
    index = bisect_left(places, group - _SETTLE_ONSETS)
    return index < len(places) and places[index] <= group + _SETTLE_ONSETS


def _out_of_turn(pairs: Pairs, key: int, lowest: int, highest: int) -> list[int]:
    """Return notes of a pitch that lie just outside what the run attempted, which is these onsets."""
    places = pairs.written.by_key.get(key, [])
    groups = [pairs.written.group_of[note] for note in places]
    first = bisect_left(groups, pairs.written.begun_from(lowest, _OUT_OF_TURN_ONSETS))
    end = bisect_left(groups, highest + _OUT_OF_TURN_ONSETS + 1)
    return [note for note in places[first:end] if note not in pairs.attempted and note not in pairs.taken]


def _settle(pairs: Pairs, events: Sequence[int], notes: Sequence[int]) -> None:
    groups = [pairs.written.group_of[note] for note in notes]
    line = pairs.time_line_around(min(groups) - _SETTLE_ONSETS, max(groups) + _SETTLE_ONSETS, set(events))
    if len(line.onsets) < 2:
        return
    by_path = {event: pairs.take_back(event) for event in events if event in pairs.played}
    times = pairs.times_ms
    misfits: list[list[float]] = [[] for _ in events]
    for note in notes:
        onset = pairs.written.onset_of[note]
        expected = line.expected(onset)
        tolerance = max(_LEAST_TOLERANCE_MS, _TOLERANCE_QUARTERS * line.pace(onset))
        if note not in pairs.attempted:
            tolerance /= _OUTSIDE
        reach = 2 * _LEFT_OVER * tolerance
        earliest, latest = min(expected) - reach, max(expected) + reach
        for event, row in zip(events, misfits, strict=True):
            time, share = times[event], math.inf
            if earliest <= time <= latest:
                share = min(abs(time - due) for due in expected) / tolerance
            if by_path.get(event) == note:
                share = min(share, _WORST_OF_PATH) - _AS_THE_PATH
            elif share <= 2 * _LEFT_OVER and not pairs.keeps_order(note, event):
                share = math.inf
            row.append(share)
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
