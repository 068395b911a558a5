"""Notes that did not sound, and the stretches that were passed over: nobody struck them, in any hand.

A hand that leaves out a note while the other goes on has missed it. Where no hand played anything from one onset
to a later one, the player went straight on: that is one skip and not so many missing notes. It is a skip when the
time was passed over too, and when both hands lack two onsets or more, whatever the time did.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from counterpane.listening.measures.heard import Heard, Pass
from counterpane.model.piece import Note

_PLAYING_SHARE = 0.25


@dataclass(frozen=True)
class Skip:
    """From the onset `before` a pass went straight on to `after` (quarters), past these notes (at least one)."""

    before: float
    after: float
    notes: tuple[Note, ...]


def missing_notes(heard: Heard, one: Pass) -> list[Note]:
    """Return what a pass did not sound between its first and last onset, in the hands that were playing.

    A note that both hands share is not missing when its key was struck once.
    """
    own = {struck.note.id for struck in one.struck}
    first, last = one.struck[0].onset, one.struck[-1].onset
    missing: list[Note] = []
    for hand in heard.sheet.hands:
        due = [note for note in heard.sheet.notes_between(hand, first, last) if note.id not in heard.not_reached]
        if sum(note.id in own for note in due) >= _PLAYING_SHARE * len(due):
            missing += [note for note in due if note.id not in one.by_note]
    return missing


def find_skips(heard: Heard, one: Pass) -> Iterator[Skip]:
    """Yield the stretches that a pass went past, in written order."""
    silent: dict[float, list[Note]] = {}
    for note in missing_notes(heard, one):
        silent.setdefault(heard.sheet.onset_of[note.id], []).append(note)
    sounding = {struck.onset for struck in one.sounding}
    rows = [list(row) for _, row in groupby(sorted(silent.keys() | sounding), key=lambda onset: onset in sounding)]
    for index, row in enumerate(rows):
        if row[0] not in sounding:
            notes = tuple(note for onset in row for note in silent[onset])
            skip = Skip(rows[index - 1][-1], rows[index + 1][0], notes)
            in_both = len(row) > 1 and len({note.hand for note in notes}) > 1
            if in_both or _was_passed_over(one, skip, row[0]):
                yield skip


def _was_passed_over(one: Pass, skip: Skip, first: float) -> bool:
    """Tell whether the next note came when the first of those left out was due, rather than at its own time."""
    if one.line is None:
        return False
    times = dict(one.merged_onsets)
    if skip.before not in times or skip.after not in times:
        return False
    quarter = float(one.line.quarter_ms(np.array([skip.before]))[0])
    halfway = (first + skip.after) / 2 - skip.before
    return times[skip.after] - times[skip.before] < halfway * quarter
