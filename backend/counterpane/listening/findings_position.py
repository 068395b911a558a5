"""What is observed about where a hand lay: in another octave, or one key beside its place."""

from __future__ import annotations

from collections.abc import Iterator

from counterpane.listening.measures.heard import Heard, Pass, Struck
from counterpane.listening.observations import PUT_RIGHT, Case, Observation
from counterpane.model.piece import Hand

_WHITE = frozenset((0, 2, 4, 5, 7, 9, 11))
# A hand lies elsewhere for this many notes at least. Between them some may seem right, since the wrong key for one
# note is often the next note's own: two at most, and one in three.
_FEWEST_OFF = 4
_MOST_BETWEEN = 2
_LEAST_SHARE = 2 / 3
_FEWEST_MOVED = 2


def octave(case: Case) -> Iterator[Observation]:
    """Observe a hand that lay an octave too high or too low for four notes or more; `notes` are all there."""
    yield from _lay_elsewhere(case, "octave_up", (12,), 58.0)
    yield from _lay_elsewhere(case, "octave_down", (-12,), 58.0)


def one_key_off(case: Case) -> Iterator[Observation]:
    """Observe a hand that lay one key too high or too low for four notes or more; `notes` are all of its there."""
    yield from _lay_elsewhere(case, "beside_up", (1, 2), 59.0)
    yield from _lay_elsewhere(case, "beside_down", (-1, -2), 59.0)


def _lay_elsewhere(case: Case, kind: str, semitones: tuple[int, ...], weight: float) -> Iterator[Observation]:
    """Observe each such place once, with what the last pass made of it."""
    last: dict[tuple[Hand, float, float], int] = {}
    for one in case.heard.passes:
        wrong = len(one.corrected) + sum(struck.status == "replacement" for struck in one.struck)
        for hand in case.heard.sheet.hands if wrong >= _FEWEST_OFF else ():
            last |= {(hand, *stretch): one.run for stretch in _stretches(case.heard, one, hand, semitones)}
    for (hand, start, end), run in last.items():
        ids = tuple(note.id for note in case.heard.sheet.notes_between(hand, start, end))
        right = all(case.put_right(note, run) for note in ids)
        yield Observation(kind, start, end, PUT_RIGHT if right else weight, {"count": len(ids)}, hand, ids)


def _stretches(heard: Heard, one: Pass, hand: Hand, semitones: tuple[int, ...]) -> Iterator[tuple[float, float]]:
    """Yield from where to where a hand's notes were struck too high by one of these numbers of semitones.

    A sign overlooked is no such thing: at least two white keys were struck for other white ones, or for themselves
    in another octave.
    """
    row = [struck for struck in one.struck if struck.note.hand == hand]
    off = [index for index, struck in enumerate(row) if _semitones(heard, one, struck) in semitones]
    start = 0
    for end in range(1, len(off) + 1):
        if end < len(off) and off[end] - off[end - 1] <= 1 + _MOST_BETWEEN:
            continue
        group = [row[index] for index in off[start:end]]
        enough = len(group) >= max(_FEWEST_OFF, _LEAST_SHARE * (off[end - 1] - off[start] + 1))
        if enough and sum(_is_moved(heard, one, struck) for struck in group) >= _FEWEST_MOVED:
            yield group[0].onset, group[-1].onset
        start = end


def _is_moved(heard: Heard, one: Pass, struck: Struck) -> bool:
    """Tell whether the key is no neighbour that an overlooked sign would have led to."""
    off, written = _semitones(heard, one, struck), struck.note.midi % 12
    return off % 12 == 0 or {written, (written + off) % 12} <= _WHITE


def _semitones(heard: Heard, one: Pass, struck: Struck) -> int:
    """Return by how many semitones the (first) key for a note was too high; 0 when it was right at once."""
    own = struck.played.event if struck.status == "replacement" else None
    event = one.corrected.get(struck.note.id, own)
    if event is None:
        return 0
    return heard.performance.notes[event].midi - heard.alignment.transposed_by - struck.note.midi
