"""What each kind of slip costs the aligner, in nats: roughly minus the logarithm of how often it happens.

The path through the score (see `path`) has the least sum of these. They were chosen from how people practise,
not fitted to recordings: what matters is their order. A wrong key beside the right one is likelier than a
note left out and another added; a handful of slips is likelier than a jump; a jump to the start of a measure
is likelier than one into its middle; a jump after a pause is likelier than one in full flow.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

LEFT_OUT = 1.2
ADDED = 2.5
OUT_OF_TURN = 2.0
"""A key of the same or a neighbouring onset: struck again, or the other hand is late or early."""

PUT_RIGHT = 0.4
"""What a wrong key that will be put right costs more than one that will not."""

ORNAMENT = 0.4
"""A key that a written ornament allows ..."""

ORNAMENT_GAP_MS = 350.0
"""... of which one follows another at least so quickly, even in slow practice."""

ASTRAY = 2.5
"""A key before the passage is entered."""

JUMP_TO_PASSAGE = 3.2
JUMP_TO_MEASURE = 4.8
JUMP_TO_BEAT = 5.6
JUMP_ANYWHERE = 6.0
"""Only a passage or a measure is begun with a wrong key."""

JUST_BACK = 2.0
"""What a jump back within reach is cheaper than one from anywhere ..."""

JUST_BACK_NOTE = 0.07
"""... and what each note that it goes back over takes from that."""

JUMP_NOTE = 0.0015
"""What any jump costs more for each note between: where two places sound the same, the nearer one is meant."""

BEYOND_PASSAGE = 2.0
"""What entering before or after the passage that was asked costs more."""

ONE_HAND = 0.7
"""Entering with one hand alone where both are written."""

IN_FLOW = 0.6
AFTER_PAUSE = -0.8
AFTER_LONG_PAUSE = -1.6
"""What the time before a jump adds to its cost."""

DROP_HAND = 2.2
TAKE_UP_HAND = 1.6
BROKEN_CHORD = 0.8
"""A chord spread over a time in which the next onset could have been played."""

APART = 0.3
"""A key that belongs to the onset of the one before and does not come together with it ..."""

TOGETHER = 0.3
"""... and one that comes together with the one before and does not belong to its onset."""

_WRONG_FAR = 3.3
_WRONG_BY_SEMITONES = {0: 0.0, 1: 1.7, 2: 1.8, 3: 2.3, 4: 2.6, 5: 2.8, 7: 2.9, 11: 2.8, 12: 1.9, 13: 2.8, 24: 2.6}


def wrong_key_costs() -> NDArray[np.float64]:
    """Return the cost of a key by its distance in semitones, index 127 being the right key."""
    distances = np.abs(np.arange(-127, 128))
    return np.array([_WRONG_BY_SEMITONES.get(int(distance), _WRONG_FAR) for distance in distances])
