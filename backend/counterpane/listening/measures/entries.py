"""Entries: how many statements of the subject begin so that a listener could count them.

Definition
    A statement can be heard to begin when its first note is set off from what came before in its hand, or
    stressed. Set off: silence of at least 15 % of the interval before it (and 30 ms), and clearly more (10 %)
    than that hand's usual gap; or a rest written before it, really kept. Stressed: at least 8 velocity steps above
    the median of its neighbours in that hand (four before, four after).
    "entries a listener could count: 3 of 4" is `value` of `of`.
Unit
    Entries.
Formula
    As above; each entry says by which it is heard: "silence", "rest", "stress", "opening" or none.
Conventions
    Statements whose first note lies in the passage and was played as written; the last pass that has it. The first
    note of a hand in a pass has nothing before it and is heard ("opening"). Where it is not known when the keys
    before were let go, only stress can be told, and an entry without it is left out.
Source
    Common practice, no source: separate the first note, or stress it. Limits in thresholds.py.
What it cannot know
    A listener's attention; timbre; whether an entry is hidden by a louder other hand (see balance).
"""

from __future__ import annotations

from statistics import median

from counterpane.listening.measures.heard import Heard, Pass, Struck
from counterpane.listening.measures.shape import Measured, measured, place_json, unmeasured
from counterpane.listening.measures.thresholds import SEPARATION_MS, SEPARATION_SHARE, STRESS_VELOCITY
from counterpane.model.analysis import Analysis, Statement
from counterpane.model.piece import Hand

UNIT = "entries"
NEIGHBOURS = 4
_BEYOND_USUAL = 0.1


def entries(heard: Heard, analysis: Analysis) -> Measured:
    """Return how many of the passage's entries could be heard as beginnings, and by what each is."""
    usual = {hand: _usual_gap(heard, hand) for hand in heard.sheet.hands}
    asked = {note.id for note in heard.sheet.expected}
    rows = [
        row
        for statement in analysis.statements
        if statement.notes and statement.notes[0] in asked and (row := _row(heard, statement, usual)) is not None
    ]
    if not rows:
        return unmeasured(UNIT, "No statement of a subject begins in what was played.", of=0)
    heard_ones = sum(1 for row in rows if row["heard_by"] is not None)
    return measured(heard_ones, UNIT, len(rows), of=len(rows), each=rows)


def _row(heard: Heard, statement: Statement, usual: dict[Hand, float]) -> dict[str, object] | None:
    found = next((pair for one in reversed(heard.passes) if (pair := _find(one, statement)) is not None), None)
    if found is None:
        return None
    one, index = found
    row = one.by_hand[statement.hand]
    stress = _stress(row, index)
    before = [struck for struck in row[:index] if struck.onset < row[index].onset][-NEIGHBOURS:]
    releases = [heard.performance.released_ms(struck.played) for struck in before]
    known = [release for release in releases if release is not None]
    heard_by = _heard_by(row[index], before, known, stress, usual[statement.hand])
    if heard_by is None and len(known) < len(before):
        return None
    return {
        "statement": statement.id,
        "hand": statement.hand,
        "place": place_json(heard.sheet.place(row[index].onset)),
        "note": row[index].note.id,
        "heard_by": heard_by,
        "stress": stress,
    }


def _find(one: Pass, statement: Statement) -> tuple[Pass, int] | None:
    for index, struck in enumerate(one.by_hand[statement.hand]):
        if struck.note.id == statement.notes[0] and struck.status != "replacement":
            return one, index
    return None


def _heard_by(
    first: Struck, before: list[Struck], releases: list[float], stress: float, usual: float
) -> str | None:
    if not before:
        return "opening"
    if len(releases) == len(before):
        silence = first.played.onset_ms - max(releases)
        interval = first.played.onset_ms - before[-1].played.onset_ms
        rest = first.onset - max(struck.end for struck in before)
        if rest > 0 and silence >= max(SEPARATION_MS, SEPARATION_SHARE * interval):
            return "rest"
        if rest <= 0 and silence >= max(SEPARATION_MS, max(SEPARATION_SHARE, usual + _BEYOND_USUAL) * interval):
            return "silence"
    return "stress" if stress >= STRESS_VELOCITY else None


def _usual_gap(heard: Heard, hand: Hand) -> float:
    shares = [join.share for one in heard.passes for join in heard.joins(one, hand)]
    return max(0.0, median(shares)) if shares else 0.0


def _stress(row: tuple[Struck, ...], index: int) -> float:
    near = row[max(0, index - NEIGHBOURS) : index] + row[index + 1 : index + 1 + NEIGHBOURS]
    if not near:
        return 0.0
    return row[index].played.velocity - float(median(struck.played.velocity for struck in near))
