"""Which hands may have played alone, and which were heard.

A path through the notes of both hands is looked for first. A path with one hand alone can only be better where
that one leaves out several notes of the other hand in a row, jumps about, or explains few keys; then it is looked
for in all layers, which is more work.
"""

from __future__ import annotations

from collections.abc import Sequence

from counterpane.listening.alignment.pairing import Pairs
from counterpane.listening.alignment.runs import Run
from counterpane.listening.alignment.written import Written
from counterpane.model.piece import Hand, Hands

_HANDS: tuple[Hand, Hand] = ("right", "left")
_SILENT_NOTES = 3
"""Notes in a row; leaving out fewer costs less than dropping a hand and taking it up again (see `costs`)."""

_FITS_WELL, _FITS = 0.98, 0.94
_SHORT_RUN = 10
"""Many keys that do not fit, or short runs and some of them, may come from one hand alone."""

_SOUNDING_ONSETS = 2
_TELLING_SHARE = 0.1
_STRAY = 0.03

Struck = set[tuple[int, int]]
"""Onsets and keys that are written there and were struck there."""


def hands_may_part(written: Written, runs: Sequence[Run], keys: Sequence[int], alone: Hand | None) -> bool:
    """Whether a better path may be found in all layers than the one that `runs` come from.

    That path went through the notes of one hand `alone`, or of both; `keys` are by event.
    """
    runs = [run for run in runs if run.strokes]
    struck = [_struck(written, run, keys) for run in runs]
    fit = sum(map(len, struck)) / len(keys)
    if fit < _FITS or (fit < _FITS_WELL and any(len(run.strokes) < _SHORT_RUN for run in runs)):
        return True
    pairs = zip(runs, struck, strict=True)
    return not alone and any(_falls_silent(written, *pair, hand) for pair in pairs for hand in _HANDS)


def _struck(written: Written, run: Run, keys: Sequence[int]) -> Struck:
    places = {(stroke.group, keys[stroke.event]) for stroke in run.strokes if stroke.takes}
    return places & written.by_group_and_key.keys()


def _falls_silent(written: Written, run: Run, struck: Struck, hand: Hand) -> bool:
    """Whether a run leaves out several notes of a hand in a row while the other hand plays."""
    silent = other_sounds = 0
    for group in range(run.lowest_group, run.highest_group + 1):
        members = [note for note in written.members[group] if written.notes[note].hand == hand]
        if any((group, written.notes[note].midi) in struck for note in members):
            silent = other_sounds = 0
            continue
        silent += len(members)
        other_sounds += any((group, written.notes[note].midi) in struck for note in written.members[group])
        if silent >= _SILENT_NOTES and other_sounds >= _SOUNDING_ONSETS:
            return True
    return False


def hand_alone(written: Written, keys: Sequence[int]) -> Hand | None:
    """Return the hand that plainly played alone: hardly any key that only the other is written to play."""
    right, left = (set(written.keys[side].tolist()) for side in (written.right, ~written.right))
    only_other: dict[Hand, set[int]] = {"right": left - right, "left": right - left}
    for hand, others in only_other.items():
        share_written = sum(key in others for key in written.keys.tolist()) / len(written.keys)
        share = sum(key in others for key in keys) / len(keys)
        if share_written >= _TELLING_SHARE and share < _STRAY * share_written:
            return hand
    return None


def hands_heard(written: Written, pairs: Sequence[Pairs], asked: Hands) -> Hands:
    """Return the hand to which nearly all played notes belong, or both; `asked` when nothing was played."""
    hands = [written.notes[note].hand for found in pairs for note in found.played.values()]
    if not hands:
        return asked
    right = hands.count("right") / len(hands)
    return "right" if right > 1.0 - _STRAY else "left" if right < _STRAY else "both"
