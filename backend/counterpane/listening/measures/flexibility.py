"""Flexibility: where the playing lies between mechanical and overdone, with a wide middle.

Definition
    Two spreads, each put on a line from -1 (hardly any) to +1 (very much): the SD of the local tempo as a share
    (slow changes only, unevenness excluded) and the SD of key velocity within a hand. `value` is their mean.
    `judged` is "mechanical" only when both are at or below their lower end, "overdone" when either is at or above
    its upper end, and otherwise "in between": that is where good performances differ from one another.
Unit
    Position from -1 to +1.
Formula
    position = log(spread / middle) / log(high / middle), cut to -1..1; middle = sqrt(low * high);
    tempo low 0.01, high 0.12; velocity low 3, high 20.
Conventions
    The longest pass, at least sixteen onsets; not while hesitations (more than one in eight quarters) or wrong
    notes (more than one in ten) are the matter: then it gives none.
Source
    The lower end for tempo lies well below the 2.5 % that is just heard (Friberg and Sundberg 1995); the other
    ends are "common practice, no source", set for two-part pieces of an even motion.
What it cannot know
    Style, and taste: a toccata or a recitative is free on purpose. It says where the playing lies, not how good
    it is.
"""

from __future__ import annotations

import math

import numpy as np

from counterpane.listening.measures.heard import Heard, Pass
from counterpane.listening.measures.shape import Measured, measured, unmeasured

UNIT = "position"
FEWEST = 16
TEMPO_ENDS = (0.01, 0.12)
VELOCITY_ENDS = (3.0, 20.0)


def flexibility(heard: Heard) -> Measured:
    """Return the place between mechanical (-1) and overdone (+1), and the two spreads it comes from."""
    longest = max(heard.passes, key=lambda one: len(one.merged_onsets), default=None)
    if longest is None or longest.line is None or len(longest.merged_onsets) < FEWEST:
        return unmeasured(UNIT, "Fewer than 16 notes in one go: too few to speak of shaping.")
    reach = longest.line.reach[1] - longest.line.reach[0]
    if len(longest.pauses) > max(1, reach / 8) or _wrong_share(longest) > 0.1:
        return unmeasured(UNIT, "Notes and flow come first: shaping is told once there are few stops.")
    quarter = longest.line.quarter_ms(longest.line.onsets)
    tempo_sd = float(quarter.std() / quarter.mean())
    velocity_sd = _velocity_sd(longest)
    places = [_position(tempo_sd, *TEMPO_ENDS)]
    if heard.has_touch:
        places.append(_position(velocity_sd, *VELOCITY_ENDS))
    judged = "overdone" if max(places) >= 1 else "mechanical" if max(places) <= -1 else "in between"
    return measured(
        sum(places) / len(places),
        UNIT,
        len(longest.merged_onsets),
        tempo_sd=tempo_sd,
        velocity_sd=velocity_sd,
        judged=judged,
        touch=heard.has_touch,
    )


def _wrong_share(one: Pass) -> float:
    return sum(1 for struck in one.struck if struck.status == "replacement") / len(one.struck)


def _velocity_sd(one: Pass) -> float:
    groups = [
        np.array([s.played.velocity for s in row], dtype=float) for row in one.by_hand.values() if len(row) > 1
    ]
    squares = sum(float(((group - group.mean()) ** 2).sum()) for group in groups)
    return math.sqrt(squares / sum(len(group) for group in groups))


def _position(spread: float, low: float, high: float) -> float:
    middle = math.sqrt(low * high)
    return min(1.0, max(-1.0, math.log(max(spread, 1e-9) / middle) / math.log(high / middle)))
