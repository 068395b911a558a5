"""Sequences: which way the loudness goes through each of them, and whether that is the plan.

Definition
    For every sequence of the analysis in the passage: the trend of key velocity over written time, each hand's
    own median taken off first. `grows` or `fades` when the whole 95 % interval of the slope lies on one side
    and the change over the sequence is at least 4 velocity steps; `level` when the interval keeps the change
    within 8 to either side; otherwise `unclear`. `plan` is the decision for the section, or else the analysis'
    own suggestion; `follows_plan` compares, and is None where either is open.
Unit
    MIDI velocity a quarter note; `change` is velocity over the whole sequence.
Formula
    Theil-Sen slope, interval and certainty by Kendall (trend.py).
Conventions
    The pass with the most of its notes, the last of equals; at least six of them.
Source
    Sen (1968). The four steps are "common practice, no source".
What it cannot know
    Loudness in the room: velocity is how fast the key went down, and instruments answer it differently.
"""

from __future__ import annotations

from collections.abc import Iterable
from statistics import median

import numpy as np

from counterpane.listening.measures.heard import Heard, Struck
from counterpane.listening.measures.shape import Measured, measured, place_json, unmeasured
from counterpane.listening.measures.thresholds import LOUDNESS_STEP
from counterpane.listening.measures.trend import Trend, robust_trend
from counterpane.model.analysis import Analysis, Sequence
from counterpane.model.practice import Decision, Shape

UNIT = "sequences that follow the plan"
FEWEST = 6
_INVITED: dict[str, Shape] = {"grow": "grow", "ease": "fade"}
_DIRECTIONS: dict[Shape, str] = {"grow": "grows", "fade": "fades", "steady": "level"}


def sequences(heard: Heard, analysis: Analysis, decisions: tuple[Decision, ...] = ()) -> Measured:
    """Return the loudness direction through each sequence; `value` counts those that follow their plan."""
    if not heard.has_touch:
        return unmeasured(UNIT, "Every key came with the same loudness: the instrument may not send touch.")
    rows = [row for found in analysis.sequences if (row := _row(heard, found, analysis, decisions)) is not None]
    if not rows:
        return unmeasured(UNIT, "No sequence with at least 6 of its notes was played.")
    judged = [row for row in rows if row["follows_plan"] is not None]
    followed = sum(1 for row in judged if row["follows_plan"])
    return measured(
        followed if judged else None, UNIT, sum(int(str(row["notes"])) for row in rows), of=len(judged), each=rows
    )


def loudness_of(heard: Heard, ids: Iterable[str]) -> list[Struck]:
    """Return these notes as struck in the pass that has most of them (the last of equals), in written order."""
    wanted = tuple(dict.fromkeys(ids))
    rows = [[one.by_note[note] for note in wanted if note in one.by_note] for one in heard.passes]
    fullest: list[Struck] = max(reversed(rows), key=len, default=[])
    return sorted(fullest, key=lambda struck: struck.onset)


def _row(
    heard: Heard, found: Sequence, analysis: Analysis, decisions: tuple[Decision, ...]
) -> dict[str, object] | None:
    struck = loudness_of(heard, found.notes)
    if len(struck) < FEWEST or struck[0].onset == struck[-1].onset:
        return None
    length = struck[-1].onset - struck[0].onset
    trend = robust_trend(np.array([s.onset for s in struck]), _centred(struck))
    direction = _direction(trend, length)
    plan, source = planned_shape(found, analysis, decisions)
    return {
        "sequence": found.id,
        "start": place_json(heard.sheet.place(struck[0].onset)),
        "end": place_json(heard.sheet.place(struck[-1].onset)),
        "hands": list(found.hands),
        "rises": found.direction == "rising",
        "notes": len(struck),
        "slope": trend.slope,
        "low": trend.low,
        "high": trend.high,
        "certainty": trend.certainty,
        "change": trend.slope * length,
        "direction": direction,
        "plan": plan,
        "plan_by": source,
        "follows_plan": None if plan is None or direction == "unclear" else _DIRECTIONS[plan] == direction,
    }


def planned_shape(
    found: Sequence, analysis: Analysis, decisions: tuple[Decision, ...]
) -> tuple[Shape | None, str | None]:
    """Return the shape planned for a sequence and whose plan it is: a decision's author, or the suggestion."""
    middle = (found.start.measure + found.end.measure) // 2
    for decision in decisions:
        if decision.first_measure <= middle <= decision.last_measure:
            return decision.shape, decision.by
    notes = set(found.notes)
    for suggestion in analysis.suggestions:
        if suggestion.kind in _INVITED and notes & set(suggestion.notes):
            return _INVITED[suggestion.kind], "suggestion"
    return None, None


def _centred(struck: list[Struck]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    medians = {
        hand: median(s.played.velocity for s in struck if s.note.hand == hand)
        for hand in {s.note.hand for s in struck}
    }
    return np.array([s.played.velocity - medians[s.note.hand] for s in struck])


def _direction(trend: Trend, length: float) -> str:
    change = trend.slope * length
    if trend.low > 0 and change >= LOUDNESS_STEP:
        return "grows"
    if trend.high < 0 and change <= -LOUDNESS_STEP:
        return "fades"
    widest = max(abs(trend.low), abs(trend.high)) * length
    return "level" if widest <= 2 * LOUDNESS_STEP else "unclear"
