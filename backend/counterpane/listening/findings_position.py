"""What is observed about where a hand lay: in another octave, or one key beside its place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from counterpane.listening.measures.heard import Heard, Pass, Struck
from counterpane.listening.observations import Case, Observation
from counterpane.listening.troubles import Trouble
from counterpane.model.piece import Hand

_WHITE = frozenset((0, 2, 4, 5, 7, 9, 11))
# A hand lies beside its place for this many notes at least. Between them some may seem right, since the key beside
# one note is often the next note's own: two at most, and one in three.
_FEWEST_OFF = 4
_MOST_BETWEEN = 2
_LEAST_SHARE = 2 / 3
_FEWEST_MOVED = 2


def octave(case: Case) -> Iterator[Observation]:
    """Observe a hand that lay an octave too high or too low: four notes or more, and most of its wrong ones."""
    by_shift: dict[tuple[Hand, int], list[Trouble]] = defaultdict(list)
    for trouble in case.troubles:
        if trouble.kind == "wrong":
            note = case.note(trouble)
            by_shift[note.hand, case.key(trouble) - note.midi].append(trouble)
    for (hand, shift), group in by_shift.items():
        wrong = sum(len(others) for (other, _), others in by_shift.items() if other == hand)
        if abs(shift) == 12 and len(group) >= 4 and len(group) > 0.5 * wrong:
            yield Observation(
                "octave_up" if shift > 0 else "octave_down",
                group[0].onset,
                group[-1].onset,
                58.0,
                {"count": len(group)},
                hand,
                tuple(dict.fromkeys(trouble.note for trouble in group if trouble.note)),
            )


def one_key_off(case: Case) -> Iterator[Observation]:
    """Observe a hand that lay one key too high or too low for four notes or more; `notes` are all of its there."""
    for one in case.heard.passes:
        for hand in case.heard.sheet.hands:
            for up in (True, False):
                for start, end in _beside(case.heard, one, hand, up=up):
                    notes = case.heard.sheet.notes_between(hand, start, end)
                    yield Observation(
                        "one_key_up" if up else "one_key_down",
                        start,
                        end,
                        59.0,
                        {"count": len(notes)},
                        hand,
                        tuple(note.id for note in notes),
                    )


def _beside(heard: Heard, one: Pass, hand: Hand, *, up: bool) -> Iterator[tuple[float, float]]:
    """Yield from where to where a hand's notes were struck a key beside, a semitone or a tone off the same way.

    A sign overlooked is no such thing: at least two white keys were struck for other white ones.
    """
    row = [struck for struck in one.struck if struck.note.hand == hand]
    off = [
        index for index, struck in enumerate(row) if _keys_off(heard, one, struck) in ((1, 2) if up else (-1, -2))
    ]
    start = 0
    for end in range(1, len(off) + 1):
        if end < len(off) and off[end] - off[end - 1] <= 1 + _MOST_BETWEEN:
            continue
        group = [row[index] for index in off[start:end]]
        moved = sum({s.note.midi % 12, (s.note.midi + _keys_off(heard, one, s)) % 12} <= _WHITE for s in group)
        if (
            len(group) >= max(_FEWEST_OFF, _LEAST_SHARE * (off[end - 1] - off[start] + 1))
            and moved >= _FEWEST_MOVED
        ):
            yield group[0].onset, group[-1].onset
        start = end


def _keys_off(heard: Heard, one: Pass, struck: Struck) -> int:
    """Return by how many semitones the (first) key for a note was too high; 0 when it was right at once."""
    event = one.corrected.get(struck.note.id, struck.played.event)
    return heard.performance.notes[event].midi - heard.alignment.transposed_by - struck.note.midi
