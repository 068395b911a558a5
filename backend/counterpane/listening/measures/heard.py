"""One attempt as the measures see it: written notes paired with struck keys, pass by pass.

A pass is a stretch without a jump (one value of `EventResult.run`). Within it every written note has at most
one struck key: the one that played it as written, or else the last wrong key in its place. An ornamented note has
its first key. Notes whose timing the score does not fix (ornamented ones, those with grace notes before them, and
those put right after a wrong key) are kept, but are not `plain`.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from statistics import median

import numpy as np

from counterpane.listening.measures.hand_line import HandLine
from counterpane.listening.measures.joins import Join, find_joins
from counterpane.listening.measures.sheet import HANDS, Sheet
from counterpane.listening.measures.stretches import SEGMENTS_OF_A_PASS, Onsets, find_stretches
from counterpane.listening.measures.tempo_line import (
    FEWEST_FOR_EVENNESS,
    FEWEST_NOTES,
    TempoLine,
)
from counterpane.listening.measures.time_steps import find_line, hesitation_limits
from counterpane.model.assessment import Alignment, EventStatus
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.piece import Hand, Note, Piece
from counterpane.model.practice import Passage


@dataclass(frozen=True, slots=True)
class Struck:
    """A written note and the key that stood for it in one pass; `plain` notes may be used for timing.

    `onset` and `end` are the written ones in quarters as floats: equal fractions are equal floats, and quick.
    """

    note: Note
    onset: float
    end: float
    played: PlayedNote
    status: EventStatus
    plain: bool


@dataclass(frozen=True)
class Pass:
    """What was struck between two jumps, in written order.

    `unisons` are notes that had no key of their own: another note of the same key and onset sounded them too; they
    tell nothing of timing. `corrected` holds the notes that were put right, with the event of the first wrong key.
    """

    run: int
    struck: tuple[Struck, ...]
    unisons: tuple[Struck, ...] = ()
    corrected: Mapping[str, int] = field(default_factory=dict)

    @cached_property
    def by_hand(self) -> dict[Hand, tuple[Struck, ...]]:
        """The notes of each hand that sounded, in written order."""
        return {hand: tuple(s for s in self.sounding if s.note.hand == hand) for hand in HANDS}

    @cached_property
    def by_note(self) -> dict[str, Struck]:
        """The notes that sounded, by their ids."""
        return {struck.note.id: struck for struck in self.sounding}

    @cached_property
    def sounding(self) -> tuple[Struck, ...]:
        """What was struck and what sounded with it, in written order."""
        if not self.unisons:
            return self.struck
        return tuple(sorted((*self.struck, *self.unisons), key=lambda struck: struck.onset))

    @cached_property
    def asynchronies(self) -> tuple[tuple[float, float], ...]:
        """Written onset and left minus right (ms) wherever both hands have plain notes together."""
        right, left = (dict(self.onsets[hand]) for hand in HANDS)
        return tuple((onset, left[onset] - right[onset]) for onset in right if onset in left)

    @cached_property
    def onsets(self) -> dict[Hand, list[tuple[float, float]]]:
        """Written onset (quarters) and time (ms) of each hand's plain notes; a chord has its median."""
        return {hand: _onsets(row) for hand, row in self.by_hand.items()}

    @cached_property
    def merged_onsets(self) -> list[tuple[float, float]]:
        """Both hands' onsets as one row, the left hand's usual lateness taken off it."""
        late = median([value for _, value in self.asynchronies]) if self.asynchronies else 0.0
        times: dict[float, list[float]] = defaultdict(list)
        for hand, shift in zip(HANDS, (0.0, late), strict=True):
            for onset, time in self.onsets[hand]:
                times[onset].append(time - shift)
        return sorted((onset, sum(group) / len(group)) for onset, group in times.items())

    @cached_property
    def line(self) -> TempoLine | None:
        """The local tempo of both hands together, or None when fewer than four onsets can be used."""
        if len(self.merged_onsets) < FEWEST_NOTES:
            return None
        onsets, times = zip(*self.merged_onsets, strict=True)
        return find_line(np.array(onsets), np.array(times))

    @cached_property
    def pause_onsets(self) -> tuple[float, ...]:
        """Written onsets (quarters) before which the time line has a step."""
        return tuple(self.merged_onsets[index][0] for index in self.line.breaks) if self.line else ()

    @cached_property
    def pauses(self) -> list[tuple[float, float]]:
        """Written onset and ms of every step long enough to be named: a hesitation, or (negative) a cut."""
        if self.line is None:
            return []
        steps = zip(self.pause_onsets, self.line.steps_ms, hesitation_limits(self.line), strict=True)
        return [(onset, ms) for onset, ms, limit in steps if abs(ms) >= limit]

    @cached_property
    def plain_onsets(self) -> Onsets | None:
        """All plain onsets of both hands, or None where one alone, or pauses wherever one looks, tell no tempo."""
        rows = sorted((onset, hand == "left", time) for hand in HANDS for onset, time in self.onsets[hand])
        if len(rows) < 2 or len(self.pause_onsets) > len(rows) // 3:
            return None
        bends = 2 * self.line.segments if self.line else 0
        return Onsets.of(rows, self.pause_onsets, max(SEGMENTS_OF_A_PASS, bends))


def _onsets(row: Iterable[Struck]) -> list[tuple[float, float]]:
    times: dict[float, list[float]] = defaultdict(list)
    for struck in row:
        if struck.plain:
            times[struck.onset].append(struck.played.onset_ms)
    return [(onset, median(group) if len(group) > 1 else group[0]) for onset, group in times.items()]


@dataclass(frozen=True)
class Heard:
    """An attempt, ready to be measured: what was asked (`sheet`), and what was struck, pass by pass."""

    sheet: Sheet
    passage: Passage
    performance: Performance
    alignment: Alignment
    passes: tuple[Pass, ...]

    @cached_property
    def hand_lines(self) -> dict[Hand, list[HandLine]]:
        """Each hand's single plain notes against the local tempo, a line a stretch, where that is known."""
        stretches = find_stretches(one.plain_onsets for one in self.passes if one.plain_onsets is not None)
        measurable = [one for one in stretches if len(one.onsets.written) >= FEWEST_FOR_EVENNESS]
        lines = {hand: [HandLine.of(one, hand, self.sheet.chords) for one in measurable] for hand in HANDS}
        return {hand: [line for line in row if len(line.rows) > 1] for hand, row in lines.items()}

    def joins(self, one: Pass, hand: Hand) -> tuple[Join, ...]:
        """Return how the notes of one hand were joined in one pass; found once, asked for by several measures."""
        if (one.run, hand) not in self._joins:
            self._joins[one.run, hand] = tuple(find_joins(self, one, hand))
        return self._joins[one.run, hand]

    @cached_property
    def _joins(self) -> dict[tuple[int, Hand], tuple[Join, ...]]:
        return {}

    def may_wait(self, one: Pass, onset: float, ms: float) -> bool:
        """Tell whether time is free before an onset: after a fermata, and up to half a quarter at the end."""
        if onset in self.sheet.after_fermatas or one.line is None:
            return True
        in_last = onset >= float(self.sheet.piece.measures[-1].onset)
        return in_last and 0 < 2 * ms < float(one.line.quarter_ms(np.array([onset]))[0])

    @cached_property
    def strokes(self) -> Counter[tuple[int, str]]:
        """How often each note was struck in a pass, with the right key: by run and note."""
        right = (event for event in self.alignment.events if event.status in ("as_written", "abandoned"))
        return Counter((event.run, event.note) for event in right if event.note is not None)

    @cached_property
    def not_reached(self) -> frozenset[str]:
        """Ids of the notes that the player never came to."""
        return frozenset(note for note, status in self.statuses.items() if status == "not_reached")

    @cached_property
    def has_touch(self) -> bool:
        """False when every key was struck with one and the same velocity, as instruments without touch send it."""
        return len({note.velocity for note in self.performance.notes}) > 1

    @cached_property
    def statuses(self) -> dict[str, str]:
        """What became of each written note, by its id."""
        return {result.note: result.status for result in self.alignment.notes}


def hear(piece: Piece, passage: Passage, performance: Performance, alignment: Alignment) -> Heard:
    """Pair written notes and struck keys pass by pass; keys for notes that were not asked for are left aside."""
    asked = {result.note for result in alignment.notes}
    sheet = Sheet(piece, tuple(note for note in piece.notes if note.id in asked))
    pairs: dict[int, dict[str, Struck]] = defaultdict(dict)
    mistaken: dict[int, dict[str, int]] = defaultdict(dict)
    for result in alignment.events:
        if result.note is None or result.note not in sheet.order:
            continue
        wrong = result.status == "replacement"
        known = pairs[result.run].get(result.note)
        if wrong:
            mistaken[result.run].setdefault(result.note, result.event)
        if known is None or (result.note not in sheet.loose and (not wrong or known.status == "replacement")):
            note, played = piece.by_id[result.note], performance.notes[result.event]
            plain = note.id not in sheet.loose and (wrong or note.id not in mistaken[result.run])
            pairs[result.run][note.id] = _struck(sheet, note, played, result.status, plain)
    passes = tuple(_pass(run, group, mistaken[run], sheet) for run, group in sorted(pairs.items()))
    return Heard(sheet, passage, performance, alignment, passes)


def _struck(sheet: Sheet, note: Note, played: PlayedNote, status: EventStatus, plain: bool) -> Struck:
    return Struck(note, sheet.onset_of[note.id], sheet.end_of[note.id], played, status, plain)


def _pass(run: int, group: dict[str, Struck], mistaken: dict[str, int], sheet: Sheet) -> Pass:
    ordered = tuple(sorted(group.values(), key=lambda struck: sheet.order[struck.note.id]))
    corrected = {note: event for note, event in mistaken.items() if group[note].status != "replacement"}
    return Pass(run, ordered, _unisons(group, sheet), corrected)


def _unisons(group: dict[str, Struck], sheet: Sheet) -> tuple[Struck, ...]:
    found = {
        other.id: _struck(sheet, other, one.played, one.status, plain=False)
        for note, one in group.items()
        for other in sheet.unisons.get(note, ())
        if other.id not in group
    }
    return tuple(found.values())
