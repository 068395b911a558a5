"""Claims: each place where a figure may be stated, with the part of it that is there and what that is worth.

The worth of a claim is the bits its notes gain over the null model, less the bits that naming the statement
takes: that there is one, its form and its extent. Only claims worth more than `LEAST_WORTH` are kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from counterpane.analysis.matching import ENOUGH, Figure, seeds
from counterpane.analysis.matching_score import Laid, lay
from counterpane.analysis.steps import Flags, Floats, Ints, Lines
from counterpane.model.analysis import Form

# Bits to say that a statement stands here, by form: the rarer the form is in practice, the dearer.
ENTRY: dict[Form, float] = {
    "upright": 7.0,
    "inverted": 8.0,
    "retrograde": 18.0,
    "augmented": 16.0,
    "diminished": 16.0,
}
# Bits to say that it begins at another point within the beat than the subject does.
OFF_THE_BEAT = 4.0
# Bits to say that only the head or the tail is there, and where it breaks: fewer where the whole would stand in
# its half of the measure as the subject does.
SHORTENED = 3.5
SHORTENED_ELSEWHERE = 5.0
# Bits to say that something is changed at all, where the figure is complete and where it is shortened.
EDITED = 5.0
EDITED_AND_SHORTENED = 8.0
# ... and for each further kind of change: in the first note, in the last, in the answer's head, within.
FURTHER_CHANGE = 2.0
# ... but an answer that moves one note of its head by a step is usual.
ANSWERED = 3.0
# Odds of two to one: what is less likely is not worth a teacher's look.
LEAST_WORTH = 1.0
# A part counts from this share of the figure's notes, and never below this many notes: with these limits and the
# bits above, subjects looked for in pieces they do not belong to are "found" less than once in a thousand notes
# (tests/analysis/test_null_model.py).
LEAST_SHARE = 0.45
LEAST_NOTES = 4
# However long the figure, so many notes are a part of it that can be recognised.
ENOUGH_NOTES = 9
# A rare form must be complete: places where less than this share of its information agrees are not looked at.
ENOUGH_WHEN_RARE = 0.6
# A complete statement meets at least this share of the figure's notes.
LEAST_MET = 0.7
# ... and a shortened one this share of what is there.
LEAST_MET_WHEN_SHORT = 0.85
# Notes that come early, late or an octave away are only believed beside others: of what is there, this share is
# struck at its pitch and time (or answered), so many notes of it in a row; of a short figure all but two.
_LEAST_EXACT = 0.6
_EXACT_IN_A_ROW = 4


@dataclass(frozen=True)
class Claim:
    """A statement claimed: `columns` of the figure that are there, the notes that stand for them."""

    form: Form
    shift: int
    turn: int  # by how many steps the shift changes at column `split`; 0 where it does not
    split: int
    first_column: int
    last_column: int
    notes: tuple[int, ...]  # by column from first_column to last_column, -1 where none stands for it
    met: tuple[bool, ...]
    off: tuple[int, ...]
    worth: float

    @property
    def first(self) -> int:
        """Index of the first note in the line."""
        return next(note for note in self.notes if note >= 0)

    @property
    def last(self) -> int:
        """Index of the last note in the line."""
        return max(self.notes)


def claims(figure: Figure, form: Form, lines: Lines) -> list[Claim]:
    """Return every claim of `figure` in the joined line that is worth enough."""
    usual = form in ("upright", "inverted")
    places = seeds(figure, lines.joined, ENOUGH if usual else ENOUGH_WHEN_RARE)
    if len(places.time) == 0:
        return []
    laid = lay(figure, lines.joined, places)
    exact = laid.exact | laid.answered
    in_a_row = min(_EXACT_IN_A_ROW, len(figure) - 2)
    entry = ENTRY[form] + OFF_THE_BEAT * (lines.phase(places.time) != figure.phase)
    in_place = lines.standing(places.time) == figure.standing
    part = entry + np.where(in_place, SHORTENED, SHORTENED_ELSEWHERE)
    found: list[Claim] = []
    for first, last, worth in _extents(laid, entry, part if usual else None):
        for row in np.flatnonzero(worth > LEAST_WORTH).tolist():
            begin, end = int(first[row]), int(last[row])
            stop = end + 1
            notes = tuple(laid.note[row, begin:stop].tolist())
            if max(notes) < 0 or not _is_heard(exact[row, begin:stop], in_a_row):
                continue
            found.append(
                Claim(
                    form=form,
                    shift=int(places.later_shift[row]),
                    turn=int(places.later_shift[row] - places.shift[row]) if begin < laid.split[row] < stop else 0,
                    split=int(laid.split[row]),
                    first_column=begin,
                    last_column=end,
                    notes=notes,
                    met=tuple(laid.met[row, begin:stop].tolist()),
                    off=tuple(laid.off[row, begin:stop].tolist()),
                    worth=float(worth[row]),
                )
            )
    return found


def least_part(size: int) -> int:
    """Return how many notes of a figure of `size` notes a head or a tail must have at least."""
    return min(max(LEAST_NOTES, int(np.ceil(LEAST_SHARE * size))), ENOUGH_NOTES)


def _one_step_in_head(laid: Laid) -> Flags:
    """Return the rows whose only change within is one note of the first half that is struck a step off."""
    half = (laid.edited.shape[1] + 1) // 2
    off_by_step = laid.edited & ~laid.met & (np.abs(laid.off) == 1)
    alone: Flags = (laid.edited.sum(axis=1) == 1) & off_by_step[:, : half + 1].any(axis=1)
    return alone


def _is_whole(laid: Laid) -> Flags:
    """Return the rows that meet or answer enough of the figure and, at either end, one of its two notes."""
    met = laid.met | laid.answered
    whole: Flags = met[:, :2].any(axis=1) & met[:, -2:].any(axis=1) & (met.mean(axis=1) >= LEAST_MET)
    return whole


def _is_heard(exact: Flags, in_a_row: int) -> bool:
    """Say whether enough of a claim's notes are exact, and `in_a_row` of them follow each other."""
    others = np.flatnonzero(np.concatenate([[True], ~exact, [True]]))
    return bool(exact.mean() >= _LEAST_EXACT and np.diff(others).max() > in_a_row)


def _mostly(met: Flags) -> Flags:
    """Return where nearly all notes from the first column to this one are met."""
    mostly: Flags = np.cumsum(met, axis=1) >= LEAST_MET_WHEN_SHORT * np.arange(1, met.shape[1] + 1)
    return mostly


def _extents(laid: Laid, entry: Floats, part: Floats | None) -> list[tuple[Ints, Ints, Floats]]:
    """Return (first column, last column, worth) by row: complete, and the best head and tail.

    `entry` are the bits to name a complete statement, `part` those to name a head or tail (None: not looked for).
    """
    rows, size = laid.gain.shape
    begin, end = np.zeros(rows, dtype=np.int64), np.full(rows, size - 1)
    within = laid.edited.any(axis=1)
    edited = np.where(_one_step_in_head(laid), ANSWERED, EDITED * within)
    answered = laid.answered[:, 0]
    changes = within + answered.astype(np.int64) + ~(laid.met[:, 0] | answered) + ~laid.met[:, -1]
    complete = laid.gain.sum(axis=1) - entry - edited - FURTHER_CHANGE * np.maximum(changes - 1, 0)
    complete[~_is_whole(laid)] = 0.0
    extents = [(begin, end, complete)]
    least = least_part(size)
    if part is None or least >= size:
        return extents
    heads = np.cumsum(laid.gain, axis=1) - part[:, None]
    heads[:, : least - 1] = 0.0
    heads[:, -1] = 0.0
    heads -= EDITED_AND_SHORTENED * np.logical_or.accumulate(laid.edited, axis=1)
    heads[~(laid.met & laid.met[:, :2].any(axis=1, keepdims=True) & _mostly(laid.met))] = 0.0
    # A tail's first note carries no interval, so its bits do not count.
    tails = np.cumsum(laid.gain[:, ::-1], axis=1)[:, ::-1] - np.maximum(laid.gain, 0.0)
    tails -= part[:, None]
    tails[:, size - least + 1 :] = 0.0
    tails[:, 0] = 0.0
    tails -= EDITED_AND_SHORTENED * np.logical_or.accumulate(laid.edited[:, ::-1], axis=1)[:, ::-1]
    tails[~(laid.met & laid.met[:, -1:] & _mostly(laid.met[:, ::-1])[:, ::-1])] = 0.0
    head, tail = np.argmax(heads, axis=1), np.argmax(tails, axis=1)
    row = np.arange(rows)
    better = np.maximum(complete, 0.0)
    head_worth, tail_worth = heads[row, head], tails[row, tail]
    extents.append((begin, head, np.where(head_worth > better, head_worth, 0.0)))
    extents.append((tail, end, np.where(tail_worth > better, tail_worth, 0.0)))
    return extents
