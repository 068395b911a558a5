"""Whether the instrument, or the player, is somewhere else on the keyboard than what is written."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from counterpane.listening.alignment.written import Written

_MOST = 5
_FURTHEST = 24
_KEYS = 128


def likely_transpositions(written: Written, keys: Sequence[int], better: float) -> list[int]:
    """Return the shifts in semitones, likeliest first, at which the heaps of written and struck keys are alike.

    They are alike by a share of the keys that is larger by `better`, or more, than without a shift.
    """
    have = np.bincount(keys, minlength=_KEYS)[:_KEYS] / len(keys)
    want = np.bincount(written.keys, minlength=_KEYS)[:_KEYS] / len(written.keys)
    padded = np.pad(want, _FURTHEST)
    alike = {
        shift: float(np.minimum(have, padded[_FURTHEST - shift :][:_KEYS]).sum())
        for shift in range(-_FURTHEST, _FURTHEST + 1)
    }
    enough = alike.pop(0) + better
    shifts = sorted((shift for shift in alike if alike[shift] >= enough), key=lambda shift: -alike[shift])
    return shifts[:_MOST]
