"""Keys struck out of their turn: the right key, a little before or after its neighbour instead of beside it.

Uneven playing of quick notes now and then swaps two of them. Alignment keeps the order of a hand, so that one of
the two comes back as added and its note as left out. For the accuracy of the notes that is a matter of taste; for
timing it is not: the notes that strayed farthest would be missing, and the unevenness would come out too small.
A key counts as out of turn when it is the key of a note missing between two played neighbours of its hand, and was
struck no farther from its place than the distance of these neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from counterpane.listening.measures.sheet import Sheet
from counterpane.model.performance import PlayedNote
from counterpane.model.piece import Hand, Note


def out_of_turn(
    sheet: Sheet, struck_ms: dict[str, float], spare: Sequence[PlayedNote]
) -> Iterator[tuple[Note, PlayedNote]]:
    """Yield notes missing from one pass with the spare key that was theirs; `struck_ms` is the pass, by note id.

    Each spare key is used once, for the note whose place in time is nearest.
    """
    free = {key.event: key for key in spare}
    for hand in sheet.hands if spare else ():
        for note, due_ms, reach_ms in _gaps(sheet, hand, struck_ms):
            fitting = [
                key for key in free.values() if key.midi == note.midi and abs(key.onset_ms - due_ms) <= reach_ms
            ]
            if fitting:
                nearest = min(fitting, key=lambda key: abs(key.onset_ms - due_ms))
                yield note, free.pop(nearest.event)


def _gaps(sheet: Sheet, hand: Hand, struck_ms: dict[str, float]) -> Iterator[tuple[Note, float, float]]:
    """Yield each missing note between two played neighbours, when it was due, and how long the gap is (ms)."""
    row = sheet.notes_between(hand, sheet.onsets[0], sheet.onsets[-1])
    for before, note, after in zip(row, row[1:], row[2:], strict=False):
        if note.id in struck_ms or before.id not in struck_ms or after.id not in struck_ms:
            continue
        first, last = struck_ms[before.id], struck_ms[after.id]
        whole = sheet.onset_of[after.id] - sheet.onset_of[before.id]
        if last > first and whole > 0:
            share = (sheet.onset_of[note.id] - sheet.onset_of[before.id]) / whole
            yield note, first + share * (last - first), last - first
