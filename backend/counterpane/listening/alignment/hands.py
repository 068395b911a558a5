"""Which hands may have played alone, and which were heard.

A path through the notes of both hands is looked for first. A path with one hand alone can only be better where
that one leaves out several notes of the other hand in a row, or jumps about; then it is looked for in those layers
too, which is more work.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from counterpane.listening.alignment.pairing import Pairs
from counterpane.listening.alignment.runs import Run
from counterpane.listening.alignment.written import Written
from counterpane.model.piece import Hand, Hands

_OTHER: dict[Hand, Hand] = {"right": "left", "left": "right"}
_SILENT_NOTES = 3
"""Notes in a row; leaving out fewer costs less than dropping a hand and taking it up again (see `costs`)."""

_FITS_WELL, _FITS = 0.98, 0.7
_SHORT_RUN = 10
"""Short runs and keys that do not fit may come from one hand alone, wherever it was put down."""

_STRAY = 0.03

Struck = set[tuple[int, int]]
"""Onsets and keys that are written there and were struck there."""


def layers_to_try(written: Written, runs: Sequence[Run], keys: Sequence[int]) -> tuple[Hands, ...]:
    """Return the layers in which a better path may be found than in both hands together; often none.

    `runs` come from the path through both hands; `keys` are by event.
    """
    runs = [run for run in runs if run.strokes]
    struck = [_struck(written, run, keys) for run in runs]
    fit = sum(map(len, struck)) / len(keys)
    scattered = fit < _FITS or (fit < _FITS_WELL and any(len(run.strokes) < _SHORT_RUN for run in runs))
    silent = [
        hand
        for hand in _OTHER
        if scattered or any(_falls_silent(written, *each, hand) for each in zip(runs, struck, strict=True))
    ]
    if len(silent) == 1 and fit >= _FITS_WELL and not any(_sounds(written, each, silent[0]) for each in struck):
        return (_OTHER[silent[0]],)
    return ("both", *(_OTHER[hand] for hand in silent)) if silent else ()


def _struck(written: Written, run: Run, keys: Sequence[int]) -> Struck:
    places = {(stroke.group, keys[stroke.event]) for stroke in run.strokes if stroke.takes}
    return places & written.by_group_and_key.keys()


def _falls_silent(written: Written, run: Run, struck: Struck, hand: Hand) -> bool:
    """Whether a run leaves out several notes of a hand in a row."""
    silent = 0
    for group in range(run.lowest_group, run.highest_group + 1):
        members = [note for note in written.members[group] if written.notes[note].hand == hand]
        if any((group, written.notes[note].midi) in struck for note in members):
            silent = 0
        else:
            silent += len(members)
        if silent >= _SILENT_NOTES:
            return True
    return False


def _sounds(written: Written, struck: Collection[tuple[int, int]], hand: Hand) -> bool:
    """Whether a hand struck anything that the other is not written to strike as well."""
    return any(
        all(written.notes[note].hand == hand for note in written.by_group_and_key[place]) for place in struck
    )


def hands_heard(written: Written, pairs: Sequence[Pairs], asked: Hands) -> Hands:
    """Return the hand to which nearly all played notes belong, or both; `asked` when nothing was played."""
    hands = [written.notes[note].hand for found in pairs for note in found.played.values()]
    if not hands:
        return asked
    right = hands.count("right") / len(hands)
    return "right" if right > 1.0 - _STRAY else "left" if right < _STRAY else "both"
