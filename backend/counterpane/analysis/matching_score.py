"""How well a figure lies on a line at a given place: bits gained by each note, bits lost by each change.

A note of the figure is met when its pitch is struck at its time; nearly met when it is struck a little early or
late within its own span, sounds on from a repeated note that was tied, or lies an octave away. Notes put in
between (ornaments, passing and repeated notes) cost a little each. The first note may begin earlier, the last may
be of any length. Losses stand for the bits that naming the change takes.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property

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
    asked for, `exact` where it is struck at its time as well; `gain` in bits, losses included; `edited` where
    something other than the first or last pitch is changed; `answered` where the head lies one step off as a
    whole; `split` the column from which the later shift holds.
    """

    note: Ints
    met: Flags
    exact: Flags
    off: Ints
    gain: Floats
    edited: Flags
    answered: Flags
    split: Ints


def lay(figure: Figure, line: Line, places: Seeds) -> Laid:
    """Lay `figure` on `line` at every place; where two shifts are given, split at the best note."""
    due = _due(figure, line, places.time)
    laid = _lay(figure, line, due, places, np.full(len(places.time), len(figure)))
    two = np.flatnonzero(places.shift != places.later_shift)
    if len(two):
        part = Seeds(places.time[two], places.shift[two], places.later_shift[two])
        due = _Due(*(getattr(due, field.name)[two] for field in fields(_Due)))
        late = _lay(figure, line, due, part, np.zeros(len(two), dtype=np.int64))
        turned = _lay(figure, line, due, part, _best_split(laid.gain[two], late.gain))
        _charge_turns(figure, part, turned)
        for field in fields(Laid):
            getattr(laid, field.name)[two] = getattr(turned, field.name)
    return laid


def _charge_turns(figure: Figure, places: Seeds, laid: Laid) -> None:
    """Take off the bits that naming the turn from one shift to the other needs."""
    rows = np.arange(len(places.time))
    by_step = np.abs(places.shift - places.later_shift) == 1
    answer = by_step & (laid.split <= (len(figure) + 1) // 2)
    laid.gain[rows, laid.split] -= np.where(answer, SHIFTED_BY_STEP_EARLY, SHIFTED)
    laid.edited[rows, laid.split] |= ~answer


def _best_split(early: Floats, late: Floats) -> Ints:
    """Return, for each row, the column from which the later reading is worth more."""
    before = np.cumsum(early, axis=1)[:, :-1]
    after = np.cumsum(late[:, ::-1], axis=1)[:, ::-1][:, 1:]
    split: Ints = np.argmax(before + after, axis=1) + 1
    return split


@dataclass(frozen=True)
class _Due:
    """What the line has, whatever its pitch, where each note of a figure is due: one row a place."""

    struck_by: Ints  # index of the last note struck by its time, -1 where none is
    before_next: Ints  # number of the line's notes that begin before the figure's next one is due
    there: Flags  # the last note struck still sounds
    on_time: Flags  # ... and is struck at its time
    early: Flags  # ... or before it, but after the figure's previous note


@dataclass(frozen=True)
class _Meeting:
    """How each note of a figure meets the line at each place."""

    note: Ints
    off: Ints  # steps from the wanted pitch
    on_time: Flags
    anticipated: Flags
    late: Flags
    octave: Flags
    tied: Flags

    @cached_property
    def exact(self) -> Flags:
        """Where the wanted pitch is struck at its time."""
        exact: Flags = self.on_time & (self.off == 0)
        return exact

    @cached_property
    def met(self) -> Flags:
        """Where the wanted pitch sounds, an octave away or a little early or late included."""
        met: Flags = self.exact | self.anticipated | self.tied | self.late | self.octave
        return met


def _lay(figure: Figure, line: Line, due: _Due, places: Seeds, split: Ints) -> Laid:
    shift = np.where(
        np.arange(len(figure))[None, :] < split[:, None], places.shift[:, None], places.later_shift[:, None]
    )
    meeting = _meet(line, due, figure.shape[None, :] + shift)
    answered = _answered_head(meeting.off, meeting.on_time)
    inserted = _inserted(due, meeting)
    gain = _gain(figure, meeting, answered) - _inserted_loss(line, meeting.note, inserted)
    edited = ~meeting.exact & ~answered
    edited[:, [0, -1]] = False
    edited[:, :-1] |= inserted[:, :-1] > 0
    off = np.where(meeting.late, 0, meeting.off)
    return Laid(meeting.note, meeting.met, meeting.exact, off, gain, edited, answered, split)


def _due(figure: Figure, line: Line, time: Ints) -> _Due:
    at = time[:, None] + figure.onset[None, :]
    struck_by = np.searchsorted(line.onset, at, side="right") - 1
    sounding = np.maximum(struck_by, 0)
    onset = line.onset[sounding]
    there = (struck_by >= 0) & (line.end[sounding] > at)
    on_time = there & (onset == at)
    early = there & ~on_time
    early[:, 1:] &= onset[:, 1:] > at[:, :-1]  # the first may have begun at any time
    before = struck_by + 1 - ((struck_by >= 0) & (onset == at))  # no two notes of a line begin together
    before_end = np.searchsorted(line.onset, time + figure.length, side="left")
    return _Due(struck_by, np.column_stack([before[:, 1:], before_end]), there, on_time, early)


def _meet(line: Line, due: _Due, wanted: Ints) -> _Meeting:
    there, on_time = due.there, due.on_time
    sounding = np.maximum(due.struck_by, 0)
    off = line.step[sounding] - wanted
    alike = there & (off == 0)
    anticipated = due.early & alike
    late, late_note = _struck_late(line, due, wanted)
    late &= ~alike
    late[:, -1] = False  # what follows the last note's time belongs to what follows
    octave = on_time & (off != 0) & ~late
    octave[octave] = off[octave] % 7 == 0
    return _Meeting(
        note=_standing_for(np.where(late, late_note, np.where(there, sounding, -1)), on_time | late | (off == 0)),
        off=off,
        on_time=on_time,
        anticipated=anticipated,
        late=late,
        octave=octave,
        tied=alike & ~on_time & ~anticipated,
    )


def _standing_for(note: Ints, fits: Flags) -> Ints:
    """Return the notes without a first one that only sounds on from before at another pitch."""
    note[:, 0] = np.where(fits[:, 0], note[:, 0], -1)
    return note


def _gain(figure: Figure, meeting: _Meeting, answered: Flags) -> Floats:
    """Return the bits that each note gains, or loses by its pitch and time."""
    nearly = np.maximum(figure.bits - DISPLACED, 0.0)
    gain = np.where(meeting.exact, figure.bits, 0.0)
    gain = np.where(meeting.anticipated | meeting.late, nearly, gain)
    gain = np.where(meeting.octave, nearly / 2, gain)
    # The first note that is met only settles the transposition.
    met = meeting.met
    gain[np.arange(len(gain)), np.argmax(met, axis=1)] = 0.0
    gain = np.where(met, gain, -_loss(meeting.off, meeting.on_time))
    rows = np.flatnonzero(answered[:, 0])
    gain[rows] = np.where(answered[rows], figure.bits, gain[rows])
    gain[rows, 0] = -SHIFTED_BY_STEP_EARLY
    return gain


def _inserted(due: _Due, meeting: _Meeting) -> Ints:
    """Count the notes between each note of the figure and the next that stand for neither."""
    inserted = due.before_next - due.struck_by - 1 - meeting.late
    inserted[:, :-1] -= meeting.anticipated[:, 1:]
    between: Ints = np.maximum(inserted, 0)
    return between


def _answered_head(off: Ints, on_time: Flags) -> Flags:
    """Return where the head, up to half of the figure, lies one step off as a whole: a tonal answer."""
    answered = np.zeros(off.shape, dtype=np.bool_)
    rows = np.flatnonzero(on_time[:, 0] & (np.abs(off[:, 0]) == 1))
    head = np.logical_and.accumulate(on_time[rows] & (off[rows] == off[rows, :1]), axis=1)
    head[head.sum(axis=1) > (off.shape[1] + 1) // 2] = False
    answered[rows] = head
    return answered


def _struck_late(line: Line, due: _Due, wanted: Ints) -> tuple[Flags, Ints]:
    """Find the wanted step among the two next notes that begin within the span; the second note where none is."""
    first, second = due.struck_by + 1, due.struck_by + 2
    last = len(line) - 1
    at_first = (first < due.before_next) & (line.step[np.minimum(first, last)] == wanted)
    at_second = (second < due.before_next) & (line.step[np.minimum(second, last)] == wanted)
    return at_first | at_second, np.where(at_first, first, second)


def _loss(off: Ints, on_time: Flags) -> Floats:
    loss = np.where(np.abs(off) == 1, MISSED_BY_STEP, MISSED)
    loss = np.where(on_time, loss, NOT_STRUCK)
    loss[:, -1] = np.where(on_time[:, -1], MISSED_AT_EDGE, NOT_STRUCK_AT_EDGE)
    loss[:, 0] = MISSED_FIRST
    return loss


def _inserted_loss(line: Line, note: Ints, inserted: Ints) -> Floats:
    repeated = np.append(line.interval == 0, False)[note]  # also False where no note stands, which is -1
    loss = np.minimum(inserted * np.where(repeated, INSERTED_SAME, INSERTED), INSERTED_MOST)
    loss[:, -1] = 0.0  # nothing after the last onset belongs to the figure
    return loss
