"""Where an attempt went wrong: every trouble with its place, hand and pass, and the spots where they gather.

A trouble is a wrong note, one that was put right, a note left out alone or in a stretch that was skipped, a
hesitation, or a stop after which the player went back. Counting goes by passes: three wrong notes in one pass are
one troubled visit; the same spot in three passes is three.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from counterpane.listening.measures.heard import Heard, Pass
from counterpane.listening.measures.hesitations import corrects
from counterpane.listening.measures.thresholds import hesitation_limit_ms
from counterpane.listening.skips import find_skips, missing_notes
from counterpane.model.assessment import Jump, MeasureTally
from counterpane.model.piece import Hand
from counterpane.units import quarters_to_ms

TroubleKind = Literal["wrong", "corrected", "left_out", "skipped", "hesitation", "stop"]
NEAR_QUARTERS = 1.0
WIDEST_SPOT_QUARTERS = 4.0
# Shorter than both, a pause is a matter for the measures and for nobody's practice.
_SHORT_PAUSE_MS = 400.0
_SHORT_PAUSE_QUARTERS = 0.5
# Returns that are no accident, and how many keys before a return tell whether it was one.
_AGAIN_AND_AGAIN = 3
_JUST_BEFORE = 3


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that went wrong at a written onset (quarters) in one pass; `ms` is how long it took, if it did."""

    kind: TroubleKind
    onset: float
    hand: Hand | None
    run: int
    note: str | None = None
    event: int | None = None
    ms: float = 0.0


@dataclass(frozen=True)
class Spot:
    """Troubles close together, in written order."""

    troubles: tuple[Trouble, ...]

    @property
    def start(self) -> float:
        """Written onset of the first trouble."""
        return self.troubles[0].onset

    @property
    def end(self) -> float:
        """Written onset of the last trouble."""
        return self.troubles[-1].onset

    @property
    def times(self) -> int:
        """In how many passes there was trouble here."""
        return len({trouble.run for trouble in self.troubles})

    @property
    def hand(self) -> Hand | None:
        """The hand that all troubles with a hand belong to, or None when both have some."""
        hands = {trouble.hand for trouble in self.troubles if trouble.hand}
        return next(iter(hands)) if len(hands) == 1 else None

    def of_kind(self, kind: TroubleKind) -> tuple[Trouble, ...]:
        """Return the troubles of one kind."""
        return tuple(trouble for trouble in self.troubles if trouble.kind == kind)


def find_troubles(heard: Heard) -> tuple[Trouble, ...]:
    """Return every trouble of an attempt, in written order."""
    found = [*_stops(heard)]
    for one in heard.passes:
        found += [*_wrong(one), *_left_out(heard, one), *_hesitations(heard, one)]
    return tuple(sorted(found, key=lambda trouble: trouble.onset))


def spots(troubles: Iterable[Trouble]) -> tuple[Spot, ...]:
    """Gather troubles (in written order) that lie within a quarter of each other into spots."""
    groups: list[list[Trouble]] = []
    for trouble in troubles:
        near = groups and trouble.onset - groups[-1][-1].onset <= NEAR_QUARTERS
        if near and trouble.onset - groups[-1][0].onset <= WIDEST_SPOT_QUARTERS:
            groups[-1].append(trouble)
        else:
            groups.append([trouble])
    return tuple(Spot(tuple(group)) for group in groups)


def tally(heard: Heard, troubles: Iterable[Trouble]) -> tuple[MeasureTally, ...]:
    """Count visits and troubles of each hand in each measure that was played."""
    visits: dict[tuple[int, Hand], set[int]] = defaultdict(set)
    for one in heard.passes:
        for struck in one.struck:
            visits[heard.sheet.measure_number(struck.onset), struck.note.hand].add(one.run)
    counts: dict[tuple[int, Hand], Counter[str]] = defaultdict(Counter)
    runs: dict[tuple[int, Hand], set[int]] = defaultdict(set)
    for trouble in troubles:
        for hand in (trouble.hand,) if trouble.hand else heard.sheet.hands:
            cell = heard.sheet.measure_number(trouble.onset), hand
            counts[cell][trouble.kind] += 1
            runs[cell].add(trouble.run)
    sheet = heard.sheet
    written = Counter((sheet.measure_number(sheet.onset_of[note.id]), note.hand) for note in sheet.expected)
    return tuple(
        MeasureTally(
            measure=cell[0],
            hand=cell[1],
            visits=len(visits[cell] | runs[cell]),
            troubled=len(runs[cell]),
            notes=notes,
            wrong=counts[cell]["wrong"] + counts[cell]["corrected"],
            left_out=counts[cell]["left_out"] + counts[cell]["skipped"],
            hesitations=counts[cell]["hesitation"],
            stops=counts[cell]["stop"],
        )
        for cell, notes in written.items()
        if visits[cell] | runs[cell]
    )


def _wrong(one: Pass) -> Iterator[Trouble]:
    for struck in one.struck:
        if struck.status == "replacement":
            yield Trouble("wrong", struck.onset, struck.note.hand, one.run, struck.note.id, struck.played.event)
        elif struck.note.id in one.corrected:
            event = one.corrected[struck.note.id]
            yield Trouble("corrected", struck.onset, struck.note.hand, one.run, struck.note.id, event)


def _left_out(heard: Heard, one: Pass) -> Iterator[Trouble]:
    skipped = {note.id for skip in find_skips(heard, one) for note in skip.notes}
    for note in missing_notes(heard, one):
        kind: TroubleKind = "skipped" if note.id in skipped else "left_out"
        yield Trouble(kind, heard.sheet.onset_of[note.id], note.hand, one.run, note.id)


def _hesitations(heard: Heard, one: Pass) -> Iterator[Trouble]:
    for onset, ms in one.pauses:
        told = _is_long(one, onset, ms) and not heard.may_wait(one, onset, ms)
        if told and not corrects(heard, one, onset):
            hands = {note.hand for note in heard.sheet.notes_at(onset)}
            yield Trouble("hesitation", onset, hands.pop() if len(hands) == 1 else None, one.run, ms=ms)


def _is_long(one: Pass, onset: float, ms: float) -> bool:
    """Tell whether a pause is long enough for somebody to be told of it."""
    assert one.line is not None
    return ms >= min(_SHORT_PAUSE_MS, _SHORT_PAUSE_QUARTERS * float(one.line.quarter_ms(np.array([onset]))[0]))


def _stops(heard: Heard) -> Iterator[Trouble]:
    run_of = {result.event: result.run for result in heard.alignment.events}
    passes = {one.run: one for one in heard.passes}
    times = Counter((jump.from_place, jump.to_place) for jump in heard.alignment.jumps)
    played = heard.performance.notes
    for jump in heard.alignment.jumps:
        if jump.kind == "skip" or jump.from_place is None or jump.event == 0:
            continue
        left, target = float(jump.from_place.offset), float(jump.to_place.offset)
        if left not in heard.sheet.rank or _repeats_on_purpose(heard, left, target):
            continue
        waited, run = played[jump.event].onset_ms - played[jump.event - 1].onset_ms, run_of[jump.event - 1]
        again = times[jump.from_place, jump.to_place] >= _AGAIN_AND_AGAIN
        in_time = waited < _in_time_ms(heard, passes.get(run), left)
        if not (in_time and _goes_round(heard, jump, left, again=again)):
            yield Trouble("stop", left, None, run, ms=waited)


def _repeats_on_purpose(heard: Heard, left: float, target: float) -> bool:
    """Tell a repetition from a breakdown: it leaves off where a measure ends, and begins at a measure."""
    rank = heard.sheet.rank[left]
    if rank + 1 == len(heard.sheet.onsets):
        return True
    if target not in heard.sheet.rank:
        return False
    return heard.sheet.begins_measure(heard.sheet.onsets[rank + 1]) and heard.sheet.begins_measure(target)


def _goes_round(heard: Heard, jump: Jump, left: float, *, again: bool) -> bool:
    """Tell practice in a loop from a breakdown: no wrong key came just before the return or at it.

    Two onsets struck again are a stutter, unless it goes round them again and again.
    """
    ranks = heard.sheet.rank
    near = heard.alignment.events[max(0, jump.event - _JUST_BEFORE) : jump.event + 1]
    clean = all(event.status in ("as_written", "abandoned") for event in near)
    return clean and ranks[left] - ranks.get(float(jump.to_place.offset), ranks[left]) >= (1 if again else 2)


def _in_time_ms(heard: Heard, one: Pass | None, left: float) -> float:
    """Return how soon after the last onset of a pass the next key must come to be in time."""
    rest = heard.sheet.onsets[heard.sheet.rank[left] + 1] - left
    quarter = quarters_to_ms(1.0, heard.passage.tempo)
    if one is not None and len(one.merged_onsets) > 1:
        (first, start), (last, end) = one.merged_onsets[0], one.merged_onsets[-1]
        quarter = (end - start) / (last - first)
    return rest * quarter + hesitation_limit_ms(rest * quarter, quarter)
