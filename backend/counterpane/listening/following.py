"""Following while it is being played: after each key, what it was, and which note of each hand comes next.

Online and causal, with a small state and no clock: the reference for the page's follower, which is the same in
TypeScript. Both are held to `tests/vectors/following.json`. The final word is the aligner's; this one only shows
the way, so it gives no verdicts beyond "as written or not".

The score as the follower sees it (`Line`, from `prepare`): up to three *layers* (both hands, right alone, left
alone), each a row of *positions*, one for every note in order of onset. Position `i` means: so many notes of the
layer lie behind. Positions of one onset form its *group*; any of its keys may take any of them.

The state is one cost for every position, in nats: how unlikely it is that the player is there. A key changes
each cost to the least of

1. *step*: the least over earlier positions `j` of the layer of `cost[j] + LEFT_OUT * (i - j - 1)`, plus 0 when
   the key is in the group of `i` and `WRONG_NEAR` or `WRONG_FAR` when it is not;
2. *stay*: `cost[i] + ADDED`, or `+ ORNAMENT` when an ornament written there allows the key;
3. *jump*, only to the first position of a group that holds the key: `entry[i]` (less at the start of the passage
   and of measures) plus the least of all costs (0 as long as all are infinite, which they are before the first
   key); or the same less `JUST_BACK` from a position `j >= i` of the layer, plus `BACK_NOTE * (j - i)`.

In that order; a later candidate wins only when it is smaller by more than `TIE`. The player is at the position
of least cost: where the player was, when that is within `TIE` of the least, else the first that is; nowhere (-1)
while all are infinite. The key was as written when that position was reached by a step or jump and its group holds
the key, or when it stayed as part of an ornament.

The state also remembers which notes of the group have been struck, and the last keys: where a jump or a step
leads to a position that is not the first of its group, the keys just before are taken to have struck it too. What
is next in a hand: its first note in the group that has not been struck, else its first note in a later group.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from counterpane.model.piece import Hand, Piece
from counterpane.model.practice import Passage

LEFT_OUT = 1.2
WRONG_NEAR, WRONG_FAR = 2.0, 3.2
NEAR_SEMITONES = (1, 2, 12)
ADDED = 2.5
ORNAMENT = 0.4
ENTRY_PASSAGE, ENTRY_MEASURE, ENTRY_ANYWHERE = 2.8, 4.2, 5.2
ENTRY_ONE_HAND = 0.7
JUST_BACK, BACK_NOTE = 2.0, 0.07
TIE = 1e-9
SAME_PASS_GROUPS = 3
KEYS_REMEMBERED = 8
_HANDS: tuple[Hand, Hand] = ("right", "left")


@dataclass(frozen=True, slots=True)
class LineNote:
    """A note to follow: onset in quarters; `ornament_keys` are keys that its ornament may strike besides."""

    id: str
    hand: Hand
    onset: float
    midi: int
    ornament_keys: tuple[int, ...] = ()


@dataclass(frozen=True)
class Line:
    """The score as the follower sees it; lists by position over all layers, one layer after the other."""

    notes: tuple[LineNote, ...]
    groups: tuple[tuple[LineNote, ...], ...]
    """The notes of each onset, right hand first, from low to high."""

    layer_starts: tuple[int, ...]
    """First position of each layer; the last entry is the number of positions."""

    group: tuple[int, ...]
    first: tuple[bool, ...]
    """Whether a position is the first of its onset in its layer."""

    entry: tuple[float, ...]
    layer_keys: tuple[frozenset[int], ...]
    """For each position the keys of its onset in its layer."""

    ornament_keys: tuple[frozenset[int], ...]
    rows: dict[int, KeyRow] = field(default_factory=dict, compare=False, repr=False)
    """What has been worked out for the keys struck so far (`key_row`)."""


@dataclass(frozen=True)
class KeyRow:
    """Costs of one key by position: to take it there, to be added there, to enter there by a jump."""

    take: tuple[float, ...]
    stay: tuple[float, ...]
    enter: tuple[float, ...]


@dataclass(frozen=True)
class FollowerState:
    """Costs by position; where the player is (-1 before the first key) and what was struck there."""

    costs: tuple[float, ...]
    position: int = -1
    struck: frozenset[str] = field(default_factory=frozenset)
    last_keys: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Followed:
    """What a key was: `note` is the note that it played or adorned, `None` when it was not as written.

    `jumped` says that the player is not where the last key led; `next_right` and `next_left` are note ids, `None`
    where a hand has no more notes.
    """

    as_written: bool
    note: str | None
    jumped: bool
    next_right: str | None
    next_left: str | None


def line_of(piece: Piece, passage: Passage) -> Line:
    """Return the line of a passage, in the hands that it asks for."""
    graces: dict[str, list[int]] = {}
    for grace in piece.graces:
        graces.setdefault(grace.principal, []).append(grace.pitch.midi)
    measures = [m for m in piece.measures if passage.first_measure <= m.number <= passage.last_measure]
    inside = {measure.index for measure in measures}
    notes = [
        LineNote(
            note.id,
            note.hand,
            float(note.onset),
            note.midi,
            tuple(sorted({*graces.get(note.id, ()), *(_around(note.midi) if note.ornaments else ())})),
        )
        for note in piece.notes
        if piece.measure_at(note.onset).index in inside and passage.hands in ("both", note.hand)
    ]
    return prepare(notes, [float(measure.onset) for measure in measures])


def _around(midi: int) -> tuple[int, ...]:
    return tuple(range(midi - 2, midi + 3))


def prepare(notes: Sequence[LineNote], measure_starts: Sequence[float]) -> Line:
    """Lay notes out for following; onsets in quarters."""
    ordered = sorted(notes, key=lambda note: (note.onset, note.hand != "right", note.midi))
    onsets = sorted({note.onset for note in ordered})
    groups = tuple(tuple(note for note in ordered if note.onset == onset) for onset in onsets)
    hands = sorted({note.hand for note in ordered}, reverse=True)
    layers: list[tuple[Hand, ...]] = (
        [tuple(hands), *((hand,) for hand in hands)] if len(hands) > 1 else [tuple(hands)]
    )
    starts, group, first, entry = [0], [], [], []
    layer_keys: list[frozenset[int]] = []
    ornament_keys: list[frozenset[int]] = []
    for layer in layers:
        for number, members in enumerate(groups):
            here = [note for note in members if note.hand in layer]
            sounding = [note for note in ordered if note.onset <= onsets[number] and note.hand in layer]
            for place in range(len({note.midi for note in here})):
                cost = _entry(onsets[number], onsets[0], measure_starts)
                group.append(number)
                first.append(place == 0)
                entry.append(cost + (ENTRY_ONE_HAND if len(layer) < len(hands) else 0.0))
                layer_keys.append(frozenset(note.midi for note in here))
                ornament_keys.append(_ornament_keys(sounding, number, onsets))
        starts.append(len(group))
    return Line(
        tuple(ordered),
        groups,
        tuple(starts),
        tuple(group),
        tuple(first),
        tuple(entry),
        tuple(layer_keys),
        tuple(ornament_keys),
    )


def _entry(onset: float, passage_start: float, measure_starts: Sequence[float]) -> float:
    if onset == passage_start:
        return ENTRY_PASSAGE
    return ENTRY_MEASURE if onset in measure_starts else ENTRY_ANYWHERE


def _ornament_keys(sounding: Sequence[LineNote], number: int, onsets: Sequence[float]) -> frozenset[int]:
    """Return keys that ornaments allow at an onset: of its own notes and of those one onset before or after."""
    low = onsets[max(0, number - 1)]
    return frozenset(key for note in sounding if note.onset >= low for key in note.ornament_keys)


def begin(line: Line) -> FollowerState:
    """Return the state before the first key."""
    return FollowerState((math.inf,) * len(line.group))


def follow(line: Line, state: FollowerState, key: int) -> tuple[FollowerState, Followed]:
    """Return the state after a struck key, and what the key was."""
    costs, kinds = _update(line, state, key)
    position = _least(costs, state.position)
    last_keys = (*state.last_keys[1 - KEYS_REMEMBERED :], key)
    if position < 0:
        right, left = (_next(line, 0, frozenset(), hand) for hand in _HANDS)
        return FollowerState(costs, last_keys=last_keys), Followed(False, None, False, right, left)
    group, kind = line.group[position], kinds[position]
    jumped = state.position >= 0 and _is_jump(line, state.position, position, kind)
    stayed = state.position >= 0 and not jumped and group == line.group[state.position]
    struck = state.struck if stayed else _just_struck(line, position, state.last_keys)
    note = _note_played(line, position, kind, key, struck)
    if note is not None:
        struck = struck | {member.id for member in line.groups[group] if member.midi == key}
    right, left = (_next(line, group, struck, hand) for hand in _HANDS)
    return FollowerState(costs, position, struck, last_keys), Followed(note is not None, note, jumped, right, left)


def _is_jump(line: Line, before: int, position: int, kind: int) -> bool:
    """Whether a position is not where playing on from another one leads."""
    onsets = line.group[position] - line.group[before]
    return not 0 <= onsets <= SAME_PASS_GROUPS or (onsets == 0 and kind == _JUMP)


def _just_struck(line: Line, position: int, last_keys: Sequence[int]) -> frozenset[str]:
    """Return the notes of a group that the keys before struck, as many as lie before the position in its group."""
    earlier = 0
    while not line.first[position - earlier]:
        earlier += 1
    keys = last_keys[len(last_keys) - earlier :] if earlier else ()
    return frozenset(note.id for note in line.groups[line.group[position]] if note.midi in keys)


def _note_played(line: Line, position: int, kind: int, key: int, struck: frozenset[str]) -> str | None:
    group = line.group[position]
    if kind != _STAY and key in line.layer_keys[position]:
        members = [note.id for note in line.groups[group] if note.midi == key]
        return next((note for note in members if note not in struck), members[0])
    if kind == _STAY and key in line.ornament_keys[position]:
        adorned = [n.id for n in line.notes if key in n.ornament_keys and n.onset <= line.groups[group][0].onset]
        return adorned[-1] if adorned else None
    return None


_STAY, _STEP, _JUMP = 0, 1, 2


def key_row(line: Line, key: int) -> KeyRow:
    """Return the costs of a key by position; worked out once for each line and key."""
    if key not in line.rows:
        line.rows[key] = KeyRow(
            tuple(_taking(keys, key) for keys in line.layer_keys),
            tuple(ORNAMENT if key in keys else ADDED for keys in line.ornament_keys),
            tuple(
                entry if first and key in keys else math.inf
                for entry, first, keys in zip(line.entry, line.first, line.layer_keys, strict=True)
            ),
        )
    return line.rows[key]


def _taking(keys: frozenset[int], key: int) -> float:
    if key in keys:
        return 0.0
    near = any(key + semitones in keys or key - semitones in keys for semitones in NEAR_SEMITONES)
    return WRONG_NEAR if near else WRONG_FAR


def _update(line: Line, state: FollowerState, key: int) -> tuple[tuple[float, ...], list[int]]:
    old, row = state.costs, key_row(line, key)
    least = min(old)
    least = 0.0 if least == math.inf else least
    new = [0.0] * len(old)
    kinds = [_STAY] * len(old)
    for start, end in pairwise(line.layer_starts):
        ahead = math.inf  # the least cost at or after the position, as if the notes back from there were replayed
        for i in range(end - 1, start - 1, -1):
            ahead = min(ahead + BACK_NOTE, old[i])
            new[i] = row.enter[i] + min(least, ahead - JUST_BACK)
        behind = math.inf  # the least cost before the position, as if the notes from there were left out
        for i in range(start, end):
            best, kind = behind + row.take[i], _STEP
            stay = old[i] + row.stay[i]
            if stay < best - TIE:
                best, kind = stay, _STAY
            if new[i] < best - TIE:
                best, kind = new[i], _JUMP
            new[i], kinds[i] = best, kind
            behind = min(behind + LEFT_OUT, old[i])
    return tuple(new), kinds


def _least(costs: Sequence[float], held: int) -> int:
    bound = min(costs) + TIE
    if bound == math.inf:
        return -1
    if held >= 0 and costs[held] <= bound:
        return held
    return next(i for i, cost in enumerate(costs) if cost <= bound)


def _next(line: Line, group: int, struck: frozenset[str], hand: Hand) -> str | None:
    for number in range(group, len(line.groups)):
        for note in line.groups[number]:
            if note.hand == hand and not (number == group and note.id in struck):
                return note.id
    return None
