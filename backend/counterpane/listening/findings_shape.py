"""What is observed about shape: entries, sequences, balance, touch, flexibility."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from counterpane.listening.measures.shape import onset_at
from counterpane.listening.measures.thresholds import LEGATO_SHARE
from counterpane.listening.observations import Case, Observation
from counterpane.model.piece import Hand


def entries(case: Case) -> Iterator[Observation]:
    """Observe entries that a listener could not count: neither set off nor stressed."""
    rows = case.rows("entries", "each")
    missed = [row for row in rows if row["heard_by"] is None]
    if not missed:
        return
    onset = onset_at(missed[0], "place")
    yield Observation(
        "entries" if len(rows) > 1 else "entries_one",
        onset,
        onset,
        22.0 + min(len(missed), 4),
        {"heard": len(rows) - len(missed), "of": len(rows), "missed": len(missed)},
        _hand(missed[0]),
        tuple(str(row["note"]) for row in missed),
    )


def sequences(case: Case) -> Iterator[Observation]:
    """Observe sequences whose loudness goes against the plan, or nowhere where it should go somewhere."""
    for row in case.rows("sequences", "each"):
        if row["follows_plan"] is not False or (row["direction"] == "level" and row["plan_by"] == "suggestion"):
            continue
        kind = f"sequence_{row['plan']}"
        if row["direction"] == "level":
            kind += "_level"
        change = float(str(row["change"]))
        yield Observation(
            kind,
            onset_at(row, "start"),
            onset_at(row, "end"),
            20.0 + min(abs(change) / 4, 5.0),
            {
                "change": round(change),
                "certainty": round(float(str(row["certainty"])), 3),
                "plan": str(row["plan"]),
            },
        )


def balance(case: Case) -> Iterator[Observation]:
    """Observe statements of the subject that the other hand covers."""
    covered = [row for row in case.rows("balance", "subject") if row["balance"] == "covered"]
    if covered:
        worst = min(covered, key=lambda row: float(str(row["above"])))
        below = -float(str(worst["above"]))
        yield Observation(
            "covered",
            onset_at(worst, "start"),
            onset_at(worst, "end"),
            16.0 + min(2.0 * len(covered) + below / 3, 13.0),
            {"count": len(covered), "below": round(below)},
            _hand(worst),
        )


def touch(case: Case) -> Iterator[Observation]:
    """Observe sections that were to be separate and were joined, or the other way round."""
    for decision in case.decisions:
        first, last = decision.first_measure, decision.last_measure
        shares = [
            join.share
            for one in case.heard.passes
            for hand in case.heard.sheet.hands
            for join in case.heard.joins(one, hand)
            if first <= case.heard.sheet.measure_number(join.first.onset) <= last
        ]
        if len(shares) < 8:
            continue
        joined = float(np.median(shares)) <= LEGATO_SHARE
        if joined == (decision.touch == "joined"):
            continue
        start = case.heard.sheet.span_of_measure(max(first, case.heard.sheet.measure_number(case.first)))[0]
        end = case.heard.sheet.span_of_measure(min(last, case.heard.sheet.measure_number(case.last)))[1]
        yield Observation(
            f"touch_{decision.touch}", start, end, 15.0, {"share": round(float(np.median(shares)), 2)}
        )


def flexibility(case: Case) -> Iterator[Observation]:
    """Observe playing at either end of the wide middle: like a machine, or pulled about."""
    judged = case.measures["flexibility"].get("judged")
    if judged == "overdone":
        yield Observation("overdone", case.first, case.last, 18.0, {"position": case.number("flexibility") or 0.0})
    elif judged == "mechanical" and case.measures["flexibility"]["touch"]:
        yield Observation(
            "mechanical", case.first, case.last, 10.0, {"position": case.number("flexibility") or 0.0}
        )


def _hand(row: dict[str, object]) -> Hand:
    return "left" if row["hand"] == "left" else "right"
