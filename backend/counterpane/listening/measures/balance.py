"""Balance: which hand is louder, and whether the hand that has the subject is.

Definition
    `value`: median velocity of the right hand minus that of the left, over all passes. `subject`: for each
    statement of the subject in the passage during which the other hand plays too, the median velocity of the
    statement's notes minus that of the other hand's notes meanwhile.
Unit
    MIDI velocity steps.
Formula
    Medians; a statement is `in_front` from +4, `covered` from -4, and beyond 2.6 standard errors of the difference
    (1.253 * sqrt(variance / n, both sides added)); `level` otherwise.
Conventions
    At least four notes on either side. A statement played more than once counts with its last pass.
Source
    Common practice, no source: the hand that has the subject is to be heard.
What it cannot know
    How loud the instrument sounds in each register for the same velocity.
"""

from __future__ import annotations

import math
from statistics import median

from counterpane.listening.measures.heard import Heard, Struck
from counterpane.listening.measures.sequences import loudness_of
from counterpane.listening.measures.shape import Measured, measured, place_json, unmeasured
from counterpane.listening.measures.thresholds import BALANCE_VELOCITY
from counterpane.model.analysis import Analysis, Statement
from counterpane.model.piece import Hand

UNIT = "velocity"
FEWEST = 4
_SURE = 2.6


def balance(heard: Heard, analysis: Analysis) -> Measured:
    """Return how much louder the right hand is than the left, and how the subject stands out in each statement."""
    if len(heard.sheet.hands) < 2:
        return unmeasured(UNIT, "Only one hand was asked to play.")
    if not heard.has_touch:
        return unmeasured(UNIT, "Every key came with the same loudness: the instrument may not send touch.")
    right, left = (
        [struck.played.velocity for one in heard.passes for struck in one.by_hand[hand]]
        for hand in heard.sheet.hands
    )
    if min(len(right), len(left)) < FEWEST:
        return unmeasured(UNIT, "Fewer than 4 notes in one of the hands.", len(right) + len(left))
    rows = [row for statement in analysis.statements if (row := _row(heard, statement)) is not None]
    return measured(
        float(median(right) - median(left)),
        UNIT,
        len(right) + len(left),
        right=float(median(right)),
        left=float(median(left)),
        in_front=sum(1 for row in rows if row["balance"] == "in_front"),
        of=len(rows),
        subject=rows,
    )


def _row(heard: Heard, statement: Statement) -> dict[str, object] | None:
    own = loudness_of(heard, statement.notes)
    if len(own) < FEWEST:
        return None
    opposite: Hand = "left" if statement.hand == "right" else "right"
    meanwhile = (note.id for note in heard.sheet.notes_between(opposite, own[0].onset, own[-1].onset))
    other = loudness_of(heard, meanwhile)
    if len(other) < FEWEST:
        return None
    above = _loudness(own) - _loudness(other)
    least = max(BALANCE_VELOCITY, _SURE * 1.253 * math.sqrt(_variance(own) + _variance(other)))
    return {
        "statement": statement.id,
        "hand": statement.hand,
        "start": place_json(heard.sheet.place(own[0].onset)),
        "end": place_json(heard.sheet.place(own[-1].onset)),
        "above": above,
        "balance": "in_front" if above >= least else "covered" if above <= -least else "level",
    }


def _loudness(struck: list[Struck]) -> float:
    return float(median(s.played.velocity for s in struck))


def _variance(struck: list[Struck]) -> float:
    """Return the variance of the mean velocity."""
    count = len(struck)
    mean = sum(s.played.velocity for s in struck) / count
    return sum((s.played.velocity - mean) ** 2 for s in struck) / (count - 1) / count
