"""Key events made from a piece: a player without a fault, at a tempo, with what the test asks for changed."""

from __future__ import annotations

from collections.abc import Collection

from counterpane.model.piece import Hands, Piece
from counterpane.store.packing import RawEvent

NOTE_ON, NOTE_OFF = 0x90, 0x80


def played(
    piece: Piece, first: int, last: int, hands: Hands, tempo: float, *, wrong: Collection[str] = ()
) -> tuple[RawEvent, ...]:
    """Return the key events of measures `first` to `last`; notes with ids in `wrong` are a semitone too high."""
    measures = [one for one in piece.measures if first <= one.number <= last]
    start, end = measures[0].onset, measures[-1].end
    quarter_ms = 60_000 / tempo
    events: list[RawEvent] = []
    for note in piece.notes:
        if start <= note.onset < end and hands in ("both", note.hand):
            midi = note.midi + (note.id in wrong)
            on = float(note.onset - start) * quarter_ms
            events.append((round(on, 3), NOTE_ON, midi, 70))
            events.append((round(on + float(note.duration) * quarter_ms * 0.9, 3), NOTE_OFF, midi, 0))
    return tuple(sorted(events, key=lambda event: (event[0], event[1])))
