"""How well a figure lies on a line at a given place: bits gained by each note, bits lost by each change.

A note of the figure is met when its pitch is struck at its time; nearly met when it is struck a little early or
late within its own span, sounds on from a repeated note that was tied, or lies an octave away. Notes put in
between (ornaments, passing and repeated notes) cost a little each. The first note may begin earlier, the last may
be of any length. Losses stand for the bits that naming the change takes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from counterpane.analysis.matching import Figure, Seeds
from counterpane.analysis.steps import Flags, Floats, Ints, Line

MISSED = 3.5  # bits to name a note that differs
MISSED_BY_STEP = 2.5  # ... by one step, the usual change
MISSED_AT_EDGE = 2.0  # the last note, where change is usual
MISSED_FIRST = 1.0  # the first note, besides the bits of the interval to it
NOT_STRUCK = 5.0  # ... that has no note of its own, so that the rhythm differs too
NOT_STRUCK_AT_EDGE = 3.0
DISPLACED = 1.5  # struck early or late
INSERTED = 1.6  # each note in between
INSERTED_SAME = 0.8  # each repetition of the note
INSERTED_MOST = 6.0  # however long the run on one note
SHIFTED = 7.0  # the rest of the figure transposed anew
SHIFTED_BY_STEP_EARLY = 2.0  # a tonal answer


@dataclass(frozen=True)
class Laid:
    """A figure laid on a line at many places: one row a place, one column a note of the figure.

    `note` is the line's note that stands for the figure's, -1 where none does; `met` where it has the pitch
    asked for; `gain` in bits, losses included; `edited` where something other than the first or last pitch is
    changed; `answered` rows have their head one step off; `split` the column from which the later shift holds.
    """

    note: Ints
    met: Flags
    off: Ints
    gain: Floats
    edited: Flags
    answered: Flags
    split: Ints


def lay(figure: Figure, line: Line, places: Seeds) -> Laid:
    """Lay `figure` on `line` at every place; where two shifts are given, split at the best note."""
    whole = np.full(len(places.time), len(figure))
    early = _lay(figure, line, places, whole)
    two = places.shift != places.later_shift
    if not two.any():
        return early
    late = _lay(figure, line, places, np.zeros_like(whole))
    split = np.where(two, _best_split(early.gain, late.gain), len(figure))
    laid = _lay(figure, line, places, split)
    rows = np.flatnonzero(two & (split < len(figure)) & (split > 0))
    by_step = np.abs(places.shift[rows] - places.later_shift[rows]) == 1
    early_enough = split[rows] <= (len(figure) + 1) // 2
    laid.gain[rows, split[rows]] -= np.where(by_step & early_enough, SHIFTED_BY_STEP_EARLY, SHIFTED)
    laid.edited[rows, split[rows]] |= ~(by_step & early_enough)
    return laid


def _best_split(early: Floats, late: Floats) -> Ints:
    """Return, for each row, the column from which the later reading is worth more."""
    before = np.cumsum(early, axis=1)[:, :-1]
    after = np.cumsum(late[:, ::-1], axis=1)[:, ::-1][:, 1:]
    split: Ints = np.argmax(before + after, axis=1) + 1
    return split


def _lay(figure: Figure, line: Line, places: Seeds, split: Ints) -> Laid:
    columns = np.arange(len(figure))
    at = places.time[:, None] + figure.onset[None, :]
    until = np.concatenate([at[:, 1:], places.time[:, None] + figure.length], axis=1)
    shift = np.where(columns[None, :] < split[:, None], places.shift[:, None], places.later_shift[:, None])
    wanted = figure.shape[None, :] + shift
    struck_by = np.searchsorted(line.onset, at, side="right") - 1
    sounding = np.maximum(struck_by, 0)
    onset = line.onset[sounding]
    there = (struck_by >= 0) & (line.end[sounding] > at)
    on_time = there & (onset == at)
    off = line.step[sounding] - wanted
    same = there & (off == 0)

    # Struck before its time, but after the figure's previous note; the first may have begun at any time.
    previous = np.concatenate([np.full((len(at), 1), np.iinfo(np.int64).min), at[:, :-1]], axis=1)
    anticipated = same & ~on_time & (onset > previous)
    tied = same & ~on_time & ~anticipated
    late, late_note = _struck_late(line, struck_by, until, wanted)
    late &= ~same
    late[:, -1] = False  # what follows the last note's time belongs to what follows
    octave = on_time & (off != 0) & (off % 7 == 0) & ~late

    note = np.where(late, late_note, np.where(there, sounding, -1))
    met = same | late | octave
    gain = np.where(on_time & (off == 0), figure.bits[None, :], 0.0)
    half = np.maximum(figure.bits[None, :] - DISPLACED, 0.0)
    gain = np.where(anticipated | late, half, gain)
    gain = np.where(octave, half / 2, gain)
    # The first note that is met only settles the transposition.
    rows, first_met = np.arange(len(gain)), np.argmax(met, axis=1)
    gain[rows, first_met] = 0.0
    gain = np.where(met | tied, gain, -_loss(off, on_time))
    answered = _answered_head(off, on_time)
    gain = np.where(answered, figure.bits[None, :], gain)
    gain[:, 0] = np.where(answered[:, 0], -SHIFTED_BY_STEP_EARLY, gain[:, 0])
    inserted = np.searchsorted(line.onset, until, side="left") - struck_by - 1 - late
    inserted[:, :-1] -= anticipated[:, 1:]
    inserted = np.maximum(inserted, 0)
    gain -= _inserted_loss(line, note, inserted)
    edited = ~(on_time & (off == 0)) & ~answered
    edited[:, [0, -1]] = False
    edited[:, :-1] |= inserted[:, :-1] > 0
    return Laid(note, met, np.where(late, 0, off), gain, edited, answered[:, 0], split)


def _answered_head(off: Ints, on_time: Flags) -> Flags:
    """Return where the head, up to half of the figure, lies one step off as a whole: a tonal answer."""
    same = on_time & (np.abs(off) == 1) & (off == off[:, :1])
    head = np.logical_and.accumulate(same, axis=1)
    head[head.sum(axis=1) > (off.shape[1] + 1) // 2] = False
    return head


def _struck_late(line: Line, struck_by: Ints, until: Ints, wanted: Ints) -> tuple[Flags, Ints]:
    """Find the wanted step among the two next notes that begin within the span."""
    late = np.zeros(struck_by.shape, dtype=np.bool_)
    note = np.full(struck_by.shape, -1)
    for ahead in (1, 2):
        candidate = np.minimum(struck_by + ahead, len(line) - 1)
        fits = (struck_by + ahead < len(line)) & (line.onset[candidate] < until) & (line.step[candidate] == wanted)
        note = np.where(fits & ~late, candidate, note)
        late |= fits
    return late, note


def _loss(off: Ints, on_time: Flags) -> Floats:
    loss = np.where(np.abs(off) == 1, MISSED_BY_STEP, MISSED)
    loss = np.where(on_time, loss, NOT_STRUCK)
    loss[:, -1] = np.where(on_time[:, -1], MISSED_AT_EDGE, NOT_STRUCK_AT_EDGE)
    loss[:, 0] = MISSED_FIRST
    return loss


def _inserted_loss(line: Line, note: Ints, inserted: Ints) -> Floats:
    following = np.minimum(note + 1, len(line) - 1)
    repeated = (note >= 0) & (line.step[following] == line.step[np.maximum(note, 0)])
    loss = np.minimum(inserted * np.where(repeated, INSERTED_SAME, INSERTED), INSERTED_MOST)
    loss[:, -1] = 0.0  # nothing after the last onset belongs to the figure
    return loss
