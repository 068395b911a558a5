"""Whether a hand fell silent, and which hands were heard.

A path through the notes of both hands is looked for first. A path with one hand alone can only be better where
that one leaves out several notes of one hand in a row, or jumps about; then it is looked for in all layers, at
twice the work.
"""

from __future__ import annotations

from collections.abc import Sequence

from counterpane.listening.alignment.pairing import Pairs
from counterpane.listening.alignment.written import Written
from counterpane.model.piece import Hand, Hands

_SILENT_NOTES = 3
"""Notes in a row; leaving out fewer costs less than dropping a hand and taking it up again (see `costs`)."""

_STRAY = 0.03


def a_hand_fell_silent(written: Written, pairs: Sequence[Pairs]) -> bool:
    """Whether some run leaves out several notes of one hand in a row."""
    return any(_longest_silence(written, found) >= _SILENT_NOTES for found in pairs)


def _longest_silence(written: Written, found: Pairs) -> int:
    silent: dict[Hand, int] = {"right": 0, "left": 0}
    longest = 0
    struck = {written.source(note) for note in found.taken}
    for note in sorted(found.attempted):
        hand = written.notes[note].hand
        silent[hand] = 0 if written.source(note) in struck else silent[hand] + 1
        longest = max(longest, silent[hand])
    return longest


def hands_heard(written: Written, pairs: Sequence[Pairs], asked: Hands) -> Hands:
    """Return the hand to which nearly all played notes belong, or both; `asked` when nothing was played."""
    hands = [written.notes[note].hand for found in pairs for note in found.played.values()]
    if not hands:
        return asked
    right = hands.count("right") / len(hands)
    return "right" if right > 1.0 - _STRAY else "left" if right < _STRAY else "both"
