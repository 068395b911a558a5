"""Hesitations: where the player paused, and for how long.

Definition
    A hesitation is a step of the time line (time_steps.py): before one note time stands still, and everything
    after it comes later. A single late note with the rest in time is not one. `cuts` are the opposite: a rest
    or a long note cut short. `corrections` are pauses taken to put a wrong key right; `stops` those before a jump
    (restart, going back, skipping on). `value` counts neither.
Unit
    Milliseconds beyond what the local tempo gives; `quarters` is the same in quarter notes at that tempo.
Formula
    The step's least-squares size, named when it is at least max(150 ms, 30 % of the written interval, at most
    30 % of a quarter). (Steps of half that size are taken out of evenness too, when they are sure, but not named.)
Conventions
    Within a pass, both hands together. The time after a fermata is free and is never a hesitation; nor is up to
    half a quarter in the last measure of the piece, where nobody can tell it from a ritardando.
Source
    Regression with steps: common practice in statistics. The limits are "common practice, no source".
What it cannot know
    Why: the note may be hard to find, the page may have been turned, somebody may have come in.
"""

from __future__ import annotations

import numpy as np

from counterpane.listening.measures.heard import Heard, Pass
from counterpane.listening.measures.shape import Measured, measured, place_json, unmeasured
from counterpane.listening.measures.tempo_line import FEWEST_NOTES
from counterpane.model.piece import Hand

UNIT = "hesitations"


def hesitations(heard: Heard) -> Measured:
    """Return every hesitation with its place, hands and length, the longest first; `value` is their number."""
    measurable = [one for one in heard.passes if one.line is not None]
    if not measurable:
        return unmeasured(UNIT, f"Fewer than {FEWEST_NOTES} notes in one go: too few to know the tempo.")
    steps = [step for one in measurable for step in _steps(heard, one)]
    pauses = sorted((step for step in steps if step["ms"] > 0), key=lambda step: -step["ms"])
    found = [step for step in pauses if not step["correction"]]
    cuts = [step | {"ms": -step["ms"], "quarters": -step["quarters"]} for step in steps if step["ms"] < 0]
    return measured(
        len(found),
        UNIT,
        sum(len(one.merged_onsets) for one in measurable),
        longest_ms=found[0]["ms"] if found else 0.0,
        total_ms=sum(step["ms"] for step in found),
        at=[_placed(heard, step) for step in found],
        corrections=[_placed(heard, step) for step in pauses if step["correction"]],
        cuts=[_placed(heard, step) for step in cuts],
        stops=_stops(heard),
    )


def _steps(heard: Heard, one: Pass) -> list[dict[str, float]]:
    line = one.line
    assert line is not None
    quarters = line.quarter_ms(np.array([onset for onset, _ in one.pauses]))
    return [
        {"onset": onset, "ms": step, "quarters": float(step / quarter), "run": one.run}
        | {"correction": corrects(heard, one, onset)}
        for (onset, step), quarter in zip(one.pauses, quarters, strict=True)
        if not heard.may_wait(one, onset, step)
    ]


def corrects(heard: Heard, one: Pass, onset: float) -> bool:
    """Tell whether a pause before `onset` was taken to put right a note written there or just before."""
    rank = heard.sheet.rank[onset]
    near = heard.sheet.onsets[max(0, rank - 1) : rank + 1]
    return any(heard.sheet.onset_of[note] in near for note in one.corrected)


def _placed(heard: Heard, step: dict[str, float]) -> dict[str, object]:
    notes = heard.sheet.notes_at(step["onset"])
    hands: list[Hand] = [hand for hand in heard.sheet.hands if any(note.hand == hand for note in notes)]
    return {
        "place": place_json(heard.sheet.place(step["onset"])),
        "ms": step["ms"],
        "quarters": step["quarters"],
        "hands": hands,
        "notes": [note.id for note in notes],
        "run": step["run"],
    }


def _stops(heard: Heard) -> list[dict[str, object]]:
    played = heard.performance.notes
    return [
        {
            "place": place_json(jump.from_place or jump.to_place),
            "to": place_json(jump.to_place),
            "kind": jump.kind,
            "ms": played[jump.event].onset_ms - played[jump.event - 1].onset_ms,
        }
        for jump in heard.alignment.jumps
        if jump.event > 0
    ]
