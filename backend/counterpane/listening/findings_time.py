"""What is observed about time: hesitations, rhythm, evenness, hands apart, tempo."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import groupby, pairwise
from operator import itemgetter

import numpy as np

from counterpane.listening.measures.deviations import measure_spreads
from counterpane.listening.measures.shape import onset_at
from counterpane.listening.measures.thresholds import even_limit_ms, just_heard_ms
from counterpane.listening.observations import Case, Evidence, Observation
from counterpane.listening.troubles import Trouble
from counterpane.model.piece import Hand, Note

LEAP_SEMITONES = 8
RHYTHM_OFF = 0.2
PAIRS_OFF = 0.3
APART_MS = 45.0
APART_P90_MS = 90.0
DRIFT = 0.12
UNSTEADY = 0.1
# Notes that take longer than three times their length do not go slowly: they stop.
SAME_SLOWNESS, SLOWEST_FLOW = 1.4, 3.0
BEHIND_QUARTERS = 0.4
CUT_SHARE = 0.25
CUT_SPREADS = 4.0
LEAST_CUT_QUARTERS = 0.2
TOO_FAST = 1.15
FASTER = 1.2


def hesitations(case: Case) -> Iterator[Observation]:
    """Observe long pauses in the flow at spots that were no stumble.

    One before a leap is named as such, and one that was filled with striking the same notes again.
    Notes side by side that each took longer by one factor are no pauses: there the playing was slower.
    """
    for spot in case.spots:
        pauses = spot.of_kind("hesitation") + spot.of_kind("stop")
        if not pauses or spot.times >= 2:
            continue
        slow = _slow_stretch(case, pauses)
        if slow is not None:
            yield slow
            continue
        longest = max(pauses, key=lambda trouble: trouble.ms)
        leap = _leap_before(case, longest.onset, spot.hand)
        again = _struck_again(case, longest)
        evidence: Evidence = {"ms": round(longest.ms), "seconds": round(longest.ms / 1000, 1)}
        kind, hand = "hesitation", spot.hand
        if leap is not None:
            kind, (hand, evidence["semitones"]) = "hesitation_leap", leap
        if longest.kind == "stop":
            kind = "stop"
        elif again:
            kind, hand = "hesitation_again", _only_hand(again)
            evidence["strokes"] = max(again.values())
        yield Observation(
            kind,
            longest.onset,
            longest.onset,
            20.0 + 20.0 * min(longest.ms / 1500, 1.5) + 4.0 * (len(spot.troubles) > 1),
            evidence,
            hand,
            tuple(note.id for note in case.heard.sheet.notes_at(longest.onset)),
        )


def _struck_again(case: Case, pause: Trouble) -> dict[Note, int]:
    """Return the notes that were struck more than once, before which there was a pause, and how often.

    Those with ornaments may be, as written.
    """
    sheet = case.heard.sheet
    notes = [note for note in sheet.notes_at(pause.onset) if note.id not in sheet.loose]
    strokes = {note: case.heard.strokes[pause.run, note.id] for note in notes}
    return {note: count for note, count in strokes.items() if count > 1}


def _only_hand(notes: Iterable[Note]) -> Hand | None:
    hands = {note.hand for note in notes}
    return hands.pop() if len(hands) == 1 else None


def _slow_stretch(case: Case, pauses: tuple[Trouble, ...]) -> Observation | None:
    """Return the stretch where the intervals before all these pauses, side by side, are longer by one factor."""
    runs = {pause.run for pause in pauses}
    if len(pauses) < 2 or len(runs) > 1 or any(pause.kind == "stop" for pause in pauses):
        return None
    one = next(one for one in case.heard.passes if one.run in runs)
    if one.line is None:
        return None
    onsets, times = (list(row) for row in zip(*one.merged_onsets, strict=True))
    last = [onsets.index(pause.onset) for pause in pauses]
    if last != list(range(last[0], last[0] + len(last))):
        return None
    quarters = one.line.quarter_ms(np.array([pause.onset for pause in pauses]))
    longer = [
        (times[at] - times[at - 1]) / (onsets[at] - onsets[at - 1]) / quarter
        for at, quarter in zip(last, quarters.tolist(), strict=True)
    ]
    if max(longer) > min(SAME_SLOWNESS * min(longer), SLOWEST_FLOW):
        return None
    start, end, factor = onsets[last[0] - 1], onsets[last[-1]], sum(longer) / len(longer)
    return Observation("slowed", start, end, 20.0 + 4.0 * min(factor, 3.0), {"factor": round(factor, 1)})


def cut_short(case: Case) -> Iterator[Observation]:
    """Observe a rest or a long note that surely lost a quarter of its time or more."""
    sheet = case.heard.sheet
    for row in case.rows("hesitations", "cuts"):
        onset, quarters, ms = onset_at(row, "place"), float(str(row["quarters"])), float(str(row["ms"]))
        written = onset - sheet.onsets[sheet.rank[onset] - 1]
        surely = ms >= CUT_SPREADS * (case.number("evenness") or 0.0)
        if surely and quarters >= max(CUT_SHARE * written, LEAST_CUT_QUARTERS):
            yield Observation(
                "cut_short", onset, onset, 26.0 + 4.0 * min(quarters, 2.0), {"quarters": round(quarters, 2)}
            )


def rhythm(case: Case) -> Iterator[Observation]:
    """Observe a note value that a hand plays too long or too short throughout, by a fifth of its value or more."""
    for hand, rows in _by_hand(case, "by_value"):
        off = [row for row in rows if _is_off(row)]
        if not off or len(rows) < 2:
            continue
        worst = min(off, key=lambda row: row["quarters"])
        start, end = _span(case, hand)
        yield Observation(
            "rhythm_long" if worst["ratio"] > 1 else "rhythm_short",
            start,
            end,
            45.0 + 20.0 * min(abs(worst["ratio"] - 1), 0.5),
            {
                "ratio": round(worst["ratio"], 2),
                "percent": round(100 * abs(worst["ratio"] - 1)),
                "quarters": worst["quarters"],
                "intervals": int(worst["notes"]),
            },
            hand,
        )


def pairs(case: Case) -> Iterator[Observation]:
    """Observe notes of equal value that a hand plays in twos, long and short or short and long."""
    for hand, rows in _by_hand(case, "in_pairs"):
        off = [row for row in rows if abs(row["ratio"] - 1) >= max(PAIRS_OFF, 4 * row["error"])]
        if off:
            worst = max(off, key=lambda row: row["pairs"])
            start, end = _span(case, hand)
            yield Observation(
                "rhythm_pairs_long" if worst["ratio"] > 1 else "rhythm_pairs_short",
                start,
                end,
                42.0 + 10.0 * min(abs(worst["ratio"] - 1), 1.0),
                {
                    "ratio": round(worst["ratio"], 2),
                    "factor": round(max(worst["ratio"], 1 / worst["ratio"]), 1),
                    "quarters": worst["quarters"],
                    "pairs": int(worst["pairs"]),
                },
                hand,
            )


def uneven(case: Case) -> Iterator[Observation]:
    """Observe a hand that strays from the tempo more than the level allows, surely and audibly; where most."""
    for hand in case.heard.sheet.hands:
        figures = _hand(case, "evenness", hand)
        sd, interval = figures.get("ioi_sd_ms"), figures.get("interval_ms")
        if not isinstance(sd, float) or not isinstance(interval, float):
            continue
        notes = int(str(figures["notes"]))
        surely = sd * (1 - 1.645 / math.sqrt(2 * notes))
        limit = max(even_limit_ms(interval) * case.lenience, just_heard_ms(interval))
        if surely <= limit:
            continue
        spreads = [spread for spread in measure_spreads(case.heard, hand) if spread.intervals >= 4]
        worst = max(spreads, key=lambda spread: spread.sd_ms, default=None)
        local = worst is not None and worst.sd_ms * (1 - 2 / math.sqrt(2 * worst.intervals)) > sd
        start, end = case.heard.sheet.span_of_measure(worst.measure) if worst and local else _span(case, hand)
        shown = worst.sd_ms if worst and local else sd
        yield Observation(
            "uneven_here" if local else "uneven",
            start,
            end,
            25.0 + 10.0 * min(sd / limit - 1, 1.0),
            {
                "ms": round(shown),
                "percent": round(100 * shown / interval),
                "limit_ms": round(limit),
                "intervals": notes,
            },
            hand,
        )


def hand_behind(case: Case) -> Iterator[Observation]:
    """Observe a hand that came nearly half a quarter later than the other, or more, in two places running."""
    for one in case.heard.passes:
        if one.line is None or not one.asynchronies:
            continue
        onsets, late_ms = (np.array(row) for row in zip(*one.asynchronies, strict=True))
        late = late_ms / one.line.quarter_ms(onsets)
        side = np.where(np.abs(late) >= BEHIND_QUARTERS, np.sign(late), 0.0)
        for behind, row in groupby(enumerate(side.tolist()), key=itemgetter(1)):
            places = [index for index, _ in row]
            if behind and len(places) >= 2:
                quarters = float(np.median(np.abs(late[places])))
                yield Observation(
                    "hand_behind",
                    float(onsets[places[0]]),
                    float(onsets[places[-1]]),
                    40.0 + 5.0 * min(quarters, 2.0),
                    {"quarters": round(quarters, 1), "places": len(places)},
                    "left" if behind > 0 else "right",
                )


def hands_apart(case: Case) -> Iterator[Observation]:
    """Observe hands that strike apart what is written together, by more than an ordinary lead."""
    median, high = case.number("togetherness"), case.number("togetherness", "p90_ms")
    if median is None or high is None:
        return
    rows = [row for row in case.rows("togetherness", "by_measure") if int(str(row["places"])) >= 2]
    worst = max(rows, key=lambda row: float(str(row["median_ms"])), default=None)
    here = float(str(worst["median_ms"])) if worst else 0.0
    over = max(median / (APART_MS * case.lenience), high / (APART_P90_MS * case.lenience))
    local = here > max(2 * APART_MS * case.lenience, 3 * median)
    if not local and (over <= 1 or case.measures["togetherness"]["ordinary_lead"] is True):
        return
    start, end = case.heard.sheet.span_of_measure(int(str(worst["measure"]))) if worst else (case.first, case.last)
    leads = None if local else case.measures["togetherness"]["leads"]
    yield Observation(
        "hands_apart_here" if local else "hands_apart_lead" if leads else "hands_apart",
        start,
        end,
        30.0 + 15.0 * min(max(over, here / (2 * APART_MS * case.lenience)) - 1, 1.0),
        {
            "here_ms": round(here),
            "median_ms": round(median),
            "p90_ms": round(high),
            "lead_ms": round(abs(case.number("togetherness", "lead_ms") or 0)),
        },
        "right" if leads == "right" else "left" if leads == "left" else None,
    )


def tempo(case: Case) -> Iterator[Observation]:
    """Observe a tempo that runs away, drags, or does not settle."""
    drift, steadiness = case.number("tempo", "drift"), case.number("tempo", "steadiness")
    if drift is None or steadiness is None:
        return
    if abs(drift) > DRIFT * case.lenience:
        yield Observation(
            "rushing" if drift > 0 else "dragging",
            case.first,
            case.last,
            30.0 + 20.0 * min(abs(drift) - DRIFT, 0.5),
            {"percent": round(100 * abs(drift))},
        )
    elif steadiness > UNSTEADY * case.lenience:
        yield Observation("unsteady", case.first, case.last, 26.0, {"percent": round(100 * steadiness)})


def too_fast(case: Case) -> Iterator[Observation]:
    """Observe playing faster than the drill asks: with troubles that comes first; it is said without them too."""
    share = case.number("tempo", "share_of_goal")
    if share is None:
        return
    evidence: Evidence = {"percent": round(100 * (share - 1)), "goal": round(case.heard.passage.tempo)}
    if share > TOO_FAST and len(case.troubles) >= 2:
        yield Observation("too_fast", case.first, case.last, 50.0 + 10.0 * min(share - TOO_FAST, 0.5), evidence)
    elif share > FASTER:
        yield Observation("faster", case.first, case.last, 20.0 + 20.0 * min(share - FASTER, 0.5), evidence)


def _leap_before(case: Case, onset: float, hand: Hand | None) -> tuple[Hand, int] | None:
    """Return hand and size in semitones of the widest leap into an onset, from LEAP_SEMITONES up."""
    widest: tuple[Hand, int] | None = None
    for which in (hand,) if hand else case.heard.sheet.hands:
        row = case.heard.sheet.notes_between(which, onset - 8, onset)
        for before, after in pairwise(row):
            size = abs(after.midi - before.midi)
            if float(after.onset) == onset and size >= LEAP_SEMITONES and (widest is None or size > widest[1]):
                widest = which, size
    return widest


def _is_off(row: dict[str, float]) -> bool:
    error = abs(row["ratio"] - 1)
    chance = max(row["ratio_sd"], 0.02) / math.sqrt(row["notes"])
    return error >= RHYTHM_OFF and row["notes"] >= 3 and error >= 4 * chance


def _by_hand(case: Case, key: str) -> Iterator[tuple[Hand, list[dict[str, float]]]]:
    for hand in case.heard.sheet.hands:
        rows = _hand(case, "evenness", hand).get(key)
        if isinstance(rows, list):
            yield hand, rows


def _hand(case: Case, measure: str, hand: Hand) -> dict[str, object]:
    by_hand = case.measures[measure].get("by_hand")
    figures = by_hand.get(hand) if isinstance(by_hand, dict) else None
    return figures if isinstance(figures, dict) else {}


def _span(case: Case, hand: Hand) -> tuple[float, float]:
    onsets = list(case.heard.sheet.rank_in_hand[hand])
    return onsets[0], onsets[-1]
