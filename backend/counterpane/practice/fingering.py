"""The easiest fingering of one hand, by dynamic programming over the rules in `fingering_rules`.

Definition. The hand's notes are taken onset by onset. The outer line (the highest note of the right hand, the
lowest of the left) carries the rules for notes in a row; the other notes of a chord take the fingers below it at
the least cost of spans. Over all fingerings of the outer line the cheapest is found exactly, in time
proportional to the number of onsets. Held notes of a second voice in the same hand do not bind the fingers.

A fingering is a proposal. A teacher's fingers are given as `fixed` and the rest is found around them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from counterpane.errors import CounterpaneError
from counterpane.model.piece import Hand, Note, Piece
from counterpane.practice.fingering_rules import (
    FINGERS,
    is_black,
    note_points,
    pair_table,
    position_change,
    span_points,
    triple_table,
)

_REST = Fraction(1, 2)  # quarters of silence that free the hand
_IMPOSSIBLE = 1e6
_ALONE: Mapping[int, tuple[float, tuple[int, ...]]] = dict.fromkeys(range(5), (0.0, ()))


@dataclass(frozen=True)
class _Slice:
    """The notes that one hand strikes together, the outermost first; `pitches` are mirrored for the left hand.

    `rested` says whether the hand had time to move before it.
    """

    notes: tuple[Note, ...]
    pitches: tuple[int, ...]
    rested: bool

    @property
    def black(self) -> bool:
        return is_black(self.notes[0].midi)


def propose(piece: Piece, hand: Hand, fixed: Mapping[str, int] | None = None) -> dict[str, int]:
    """Return a finger 1 to 5 for the notes of one hand, by note id; `fixed` holds the teacher's fingers.

    A chord of more than five notes leaves its inner notes out. Raises `CounterpaneError` for a finger that does
    not exist or a note that is not in this hand.
    """
    notes = [note for note in piece.notes if note.hand == hand]
    _check_fixed(notes, hand, fixed or {})
    return fingers_of(notes, hand, fixed or {})


def fingers_of(notes: Sequence[Note], hand: Hand, fixed: Mapping[str, int] | None = None) -> dict[str, int]:
    """Return the easiest fingers for `notes` (one hand, in time order) by note id."""
    slices = _slices(notes, hand)
    if not slices:
        return {}
    fixed = fixed or {}
    chords = [_chord_fingers(each, fixed) for each in slices]
    path = _cheapest([_own_points(slices, index, chords[index], fixed) for index in range(len(slices))], slices)
    fingers: dict[str, int] = {}
    for each, chord, outer in zip(slices, chords, path, strict=True):
        _, inner = chord[outer]
        fingers.update(zip((note.id for note in each.notes), (outer + 1, *inner), strict=False))
    return fingers


def position_changes(notes: Sequence[Note], hand: Hand, fingers: Mapping[str, int]) -> tuple[str, ...]:
    """Return the ids of the notes of the outer line on which the hand has reached a new position.

    That is rule 4 of the source for each three notes in a row without a rest between them.
    """
    moved: list[str] = []
    slices = _slices(notes, hand)
    for first, middle, last in zip(slices, slices[1:], slices[2:], strict=False):
        if middle.rested or last.rested:
            continue
        three = (fingers[first.notes[0].id], fingers[middle.notes[0].id], fingers[last.notes[0].id])
        rise = middle.pitches[0] - first.pitches[0], last.pitches[0] - middle.pitches[0]
        if position_change(three, *rise)[0]:
            moved.append(last.notes[0].id)
    return tuple(moved)


def cost(notes: Sequence[Note], hand: Hand, fingers: Mapping[str, int]) -> float:
    """Return the points that the rules give to a fingering of `notes`."""
    slices = _slices(notes, hand)
    path = [fingers[each.notes[0].id] - 1 for each in slices]
    chords = [_chord_fingers(each, fingers) for each in slices]
    total = sum(float(_own_points(slices, i, chords[i], fingers)[path[i]]) for i in range(len(slices)))
    for (a, b), (left, right) in zip(pairwise(path), pairwise(slices), strict=True):
        total += float(_pair(left, right)[a, b])
    for i in range(2, len(slices)):
        total += float(_triple(slices[i - 2], slices[i - 1], slices[i])[path[i - 2], path[i - 1], path[i]])
    return total


def _check_fixed(notes: Sequence[Note], hand: Hand, fixed: Mapping[str, int]) -> None:
    ids = {note.id for note in notes}
    for note, finger in fixed.items():
        if note not in ids:
            raise CounterpaneError(f"there is no note {note!r} to finger: choose a note of this hand", hand=hand)
        if finger not in FINGERS:
            raise CounterpaneError(f"finger {finger} for note {note!r} does not exist: choose 1 to 5", hand=hand)


def _slices(notes: Sequence[Note], hand: Hand) -> list[_Slice]:
    sign = 1 if hand == "right" else -1
    slices: list[_Slice] = []
    silent_from = Fraction(0)
    for onset, struck in groupby(sorted(notes, key=lambda note: note.onset), key=lambda note: note.onset):
        outer_first = tuple(sorted(struck, key=lambda note: -sign * note.midi))
        pitches = tuple(sign * note.midi for note in outer_first)
        slices.append(_Slice(outer_first, pitches, onset - silent_from >= _REST))
        silent_from = max(note.end for note in outer_first)
    return slices


def _chord_fingers(each: _Slice, fixed: Mapping[str, int]) -> Mapping[int, tuple[float, tuple[int, ...]]]:
    """For each outer finger (0 to 4): the least points of spans inside the chord, and the inner fingers."""
    inner_notes = each.notes[1:5]
    if not inner_notes and not fixed:
        return _ALONE
    best: dict[int, tuple[float, tuple[int, ...]]] = {}
    for outer in FINGERS:
        options = [tuple(reversed(below)) for below in combinations(range(1, outer), len(inner_notes))]
        priced = [(_chord_points(each, (outer, *below), fixed), below) for below in options]
        best[outer - 1] = min(priced, default=(_IMPOSSIBLE, ()))
    return best


def _chord_points(each: _Slice, fingers: tuple[int, ...], fixed: Mapping[str, int]) -> float:
    wrong = sum(fixed.get(note.id, f) != f for note, f in zip(each.notes, fingers, strict=False))
    steps = zip(pairwise(fingers), pairwise(each.pitches), strict=False)
    return wrong * _IMPOSSIBLE + sum(span_points(a, b, q - p) for (a, b), (p, q) in steps)


def _own_points(
    slices: Sequence[_Slice],
    index: int,
    chord: Mapping[int, tuple[float, tuple[int, ...]]],
    fixed: Mapping[str, int],
) -> NDArray[np.float64]:
    """Points of one slice for each outer finger."""
    each = slices[index]
    before = slices[index - 1].black if index and not each.rested else None
    follows = index + 1 < len(slices) and not slices[index + 1].rested
    after = slices[index + 1].black if follows else None
    wanted = fixed.get(each.notes[0].id)
    points = [note_points(f, each.black, before, after) + chord[f - 1][0] for f in FINGERS]
    return np.array(
        [p + (_IMPOSSIBLE if wanted not in (None, f) else 0.0) for f, p in zip(FINGERS, points, strict=True)]
    )


def _pair(left: _Slice, right: _Slice) -> NDArray[np.float64]:
    if right.rested:
        return np.zeros((5, 5))
    return pair_table(right.pitches[0] - left.pitches[0], (left.black, right.black))


def _triple(first: _Slice, middle: _Slice, last: _Slice) -> NDArray[np.float64]:
    if middle.rested or last.rested:
        return np.zeros((5, 5, 5))
    return triple_table(middle.pitches[0] - first.pitches[0], last.pitches[0] - middle.pitches[0])


def _cheapest(own: Sequence[NDArray[np.float64]], slices: Sequence[_Slice]) -> list[int]:
    """Return the cheapest path of outer fingers (0 to 4); a state is the last two fingers."""
    if len(slices) == 1:
        return [int(own[0].argmin())]
    best = own[0][:, None] + own[1][None, :] + _pair(slices[0], slices[1])
    came_from: list[NDArray[np.intp]] = []
    for index in range(2, len(slices)):
        step = best[:, :, None] + _triple(*slices[index - 2 : index + 1])
        came_from.append(step.argmin(axis=0))
        best = step.min(axis=0) + _pair(slices[index - 1], slices[index]) + own[index][None, :]
    before, last = np.unravel_index(int(best.argmin()), best.shape)
    path = [int(last), int(before)]
    for choice in reversed(came_from):
        path.append(int(choice[path[-1], path[-2]]))
    return path[::-1]
