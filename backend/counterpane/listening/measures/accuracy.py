"""Accuracy: which share of the written notes was played as written.

Definition
    Over the reached part (every written note that the player came to): the share played as written, replaced
    by another key, and left out. Overall: the same over the whole passage, notes not reached included. Added
    keys (struck, but standing for no written note) are counted apart, and as a share of the reached notes.
Unit
    Shares 0 to 1; counts.
Formula
    value = played / (played + replaced + left out).
Conventions
    A note counts as played when its last pass played it: a passage played twice, the second time right, is
    right. `first_try` counts only the first key struck for each note.
Source
    Common practice, no source.
What it cannot know
    Whether a key that nobody wrote is a slip or a wish.
"""

from __future__ import annotations

from collections import Counter

from counterpane.listening.measures.heard import Heard
from counterpane.listening.measures.shape import Measured, measured, unmeasured
from counterpane.model.piece import Hand

UNIT = "share"


def accuracy(heard: Heard) -> Measured:
    """Return the shares of notes played, replaced and left out, over the reached part and overall, and by hand."""
    added = sum(1 for event in heard.alignment.events if event.status == "added")
    whole = _shares(heard, heard.sheet.hands, added)
    if whole["value"] is None:
        return whole
    return whole | {
        "first_try": _first_try(heard),
        "by_hand": {hand: _shares(heard, (hand,), None) for hand in heard.sheet.hands},
    }


def _shares(heard: Heard, hands: tuple[Hand, ...], added: int | None) -> Measured:
    counts = Counter(heard.statuses[note.id] for note in heard.sheet.expected if note.hand in hands)
    reached = counts["played"] + counts["replaced"] + counts["left_out"]
    total = reached + counts["not_reached"]
    if not reached:
        return unmeasured(UNIT, "None of the written notes was reached.", not_reached=total)
    more: dict[str, object] = {} if added is None else {"added": added, "added_share": added / reached}
    return measured(
        counts["played"] / reached,
        UNIT,
        reached,
        replaced_share=counts["replaced"] / reached,
        left_out_share=counts["left_out"] / reached,
        overall=counts["played"] / total,
        reached_share=reached / total,
        played=counts["played"],
        replaced=counts["replaced"],
        left_out=counts["left_out"],
        not_reached=counts["not_reached"],
        **more,
    )


def _first_try(heard: Heard) -> float:
    first: dict[str, bool] = {}
    for event in heard.alignment.events:
        if event.note in heard.sheet.order:
            for note in (event.note, *(other.id for other in heard.sheet.unisons.get(event.note, ()))):
                first.setdefault(note, event.status != "replacement")
    reached = sum(1 for status in heard.statuses.values() if status != "not_reached")
    return round(sum(first.values()) / reached, 3) if reached else 0.0
