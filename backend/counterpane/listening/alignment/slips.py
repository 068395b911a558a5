"""Within a run: what the keys were that played no note.

In turn: part of a written ornament, or a wrong key, or added. A wrong key is explained in one of two ways,
whichever fits better: it stood in place of a note that was not played, or it was put right at once and stood
for the note that followed. Both rest on time, on the order of the hand's notes, and on the distance of the keys.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.timeline import TimeLine
from counterpane.model.piece import Hand

_REACH_SEMITONES = 14
"""A wrong key further away than this stands for no note."""

_TOGETHER_MS = 45.0
_ONSETS_AWAY = 2
_FOLLOWERS = 4
_IN_PLACE, _IN_PLACE_MS = 0.6, 120.0
"""A wrong key comes so near to when its note was due, in steps or in time, or where the path has it."""

_KEY_COST = {1: 0.0, 2: 0.0, 3: 0.15, 4: 0.25, 12: 0.05}

_HANDS: tuple[Hand, Hand] = ("right", "left")
_ORNAMENT_GAP_MS = 350.0
"""Keys of one ornament follow one another at least so quickly, even in slow practice."""

_MOST_TRIES = 4
"""A longer row of keys, none of them right, is noodling."""

_CORRECTION = 0.1
_NOT_AT_ONCE = 0.15
"""For each note played between the wrong key and the right one."""

_PASSED_OVER = 0.3
"""A note that was not played was more likely replaced than left out, with the next one put right."""

_IN_TIME, _FAR_IN_TIME = 0.4, 0.8
"""A wrong key that is put right comes no earlier than this share of the time at which its note was due ..."""

_LATE_MS, _LATE, _FAR_LATE = 60.0, 0.15, 0.3
"""... and the right one then comes late by so much or by such a share. A key far away needs clearer signs ..."""

_PLAINLY_LATE, _PLAINLY_LATE_MS = 0.5, 150.0
"""... unless the right one waits for longer than any unevenness."""

_ABOUT_DUE, _EARLY = 0.3, 0.6
"""Shares of the step from a note to the next: how near a key is to the one and how far from the other."""

_LONGEST_CORRECTION_QUARTERS = 4.0


def explain_slips(pairs: Pairs) -> None:
    """Add to `pairs` what the unexplained keys of the run were, as far as they were anything."""
    if pairs.played and (pairs.unexplained() or pairs.free()):
        _Slips(pairs).explain()


class _Slips:
    def __init__(self, pairs: Pairs) -> None:
        self.pairs = pairs
        self.written = pairs.written
        self.run = pairs.run
        self.keys = pairs.keys
        self.times = pairs.times_ms
        self.line: TimeLine = pairs.time_line()
        self.strokes = {stroke.event: stroke for stroke in self.run.strokes}
        self.order = {stroke.event: place for place, stroke in enumerate(self.run.strokes)}

    def explain(self) -> None:
        self._explain_ornaments()
        self._take_back_early_keys()
        free: dict[int, list[int]] = defaultdict(list)
        for note in self._free_notes():
            free[self.written.group_of[note]].append(note)
        unexplained = self.pairs.unexplained()
        candidates = [candidate for event in unexplained for candidate in self._replacements(event, free)]
        candidates += [
            candidate for event in self._tries(unexplained) for candidate in self._corrections(event, free)
        ]
        replaced: set[int] = set()
        for _, event, note, corrected in sorted(candidates):
            if event not in self.pairs.replaced and (corrected or note not in replaced):
                self.pairs.replaced[event] = note
                if not corrected:
                    replaced.add(note)
        self.pairs.attempted |= replaced
        for place in (0, -1):
            self._reach_with_wrong_key(place)

    def _reach_with_wrong_key(self, place: int) -> None:
        """Let the run begin, or end, where the note is that its first, or last, key stood for."""
        stroke = self.run.strokes[place]
        note = self.pairs.replaced.get(stroke.event)
        if note is not None:
            self.run.strokes[place] = replace(stroke, group=self.written.group_of[note])

    def _take_back_early_keys(self) -> None:
        """Take back a key that came in the time of its hand's note before, when that one was not played.

        A wrong key often is the next note of a scale. People are late with a note, and seldom early by a step.
        """
        for missing in self.pairs.free():
            _, event = self.pairs.hand_neighbours(missing)
            if event is None or self._key_cost(event, missing) not in (_KEY_COST[1], _KEY_COST[12]):
                continue
            note = self.pairs.played[event]
            due, onset, time = self.written.onset_of[missing], self.written.onset_of[note], self.times[event]
            step = (onset - due) * self.line.pace(due)
            if self.line.misfit_ms(due, time) > _ABOUT_DUE * step:
                continue
            line = self.pairs.time_line(without={event})
            if line.misfit_ms(due, time) <= _ABOUT_DUE * step and line.misfit_ms(onset, time) >= _EARLY * step:
                self.pairs.take_back(event)
                if self.pairs.hand_neighbours(note)[1] is None:
                    self.pairs.attempted.discard(note)

    def _tries(self, unexplained: Sequence[int]) -> list[int]:
        """Return the keys that may have been put right: nobody tries many in a row."""
        rows: list[list[int]] = []
        for event in unexplained:
            if not rows or self.order[event] > self.order[rows[-1][-1]] + 1:
                rows.append([])
            rows[-1].append(event)
        return [event for row in rows if self._strikes(row) <= _MOST_TRIES for event in row]

    def _strikes(self, row: Sequence[int]) -> int:
        """Return how often the keys of a row were struck, together or alone."""
        return 1 + sum(self.times[after] - self.times[before] > _TOGETHER_MS for before, after in pairwise(row))

    def _is_in(self, note: int, hand: Hand) -> bool:
        return self.written.notes[note].hand == hand

    def _explain_ornaments(self) -> None:
        """Give the extra keys of a written ornament to the note that carries it, if that was played."""
        for ornamented in self.written.ornamented:
            main = self.pairs.taken.get(ornamented.note)
            if main is None:
                continue
            begin = self.line.at(ornamented.start) - 0.5 * self.line.pace(ornamented.start)
            end = max(self.line.at(ornamented.end), self.times[main] + _ORNAMENT_GAP_MS)
            near = [
                event
                for event in self.pairs.unexplained()
                if begin <= self.times[event] <= end and self.keys[event] in ornamented.keys
            ]
            for event in self._in_one_go(main, near):
                self.pairs.ornament[event] = ornamented.note

    def _in_one_go(self, main: int, near: Sequence[int]) -> Iterator[int]:
        """Yield events that follow one another quickly before and after the main one."""
        for side in (
            reversed([event for event in near if event < main]),
            [event for event in near if event > main],
        ):
            last = main
            for event in side:
                if abs(self.times[event] - self.times[last]) > _ORNAMENT_GAP_MS:
                    break
                last = event
                yield event

    def _free_notes(self) -> list[int]:
        """Return notes that were not played: those attempted, and those just before and after the run."""
        begin, end = self.run.first_group, self.run.last_group + 1
        before = range(self.written.begun_from(begin, _ONSETS_AWAY), begin)
        after = range(end, min(end + _ONSETS_AWAY, len(self.written.members)))
        outside = [
            note
            for stroke, groups in ((self.run.strokes[0], before), (self.run.strokes[-1], after))
            for group in groups
            for note in self.written.members_in(group, stroke.hands)
        ]
        return [note for note in (*self.pairs.free(), *outside) if note not in self.pairs.taken]

    def _replacements(
        self, event: int, free: Mapping[int, Sequence[int]]
    ) -> Iterator[tuple[float, int, int, bool]]:
        """Yield the notes in place of which a key may have been struck, with the cost of saying so."""
        stroke, time = self.strokes[event], self.times[event]
        groups = range(stroke.group - _ONSETS_AWAY, stroke.group + _ONSETS_AWAY + 1)
        for note in [note for near in groups for note in free.get(near, ())]:
            group = self.written.group_of[note]
            key_cost = self._key_cost(event, note)
            if key_cost is None or not self.pairs.keeps_order(note, event):
                continue
            path_agrees = stroke.takes and stroke.group == group
            gap = self._local_gap(group)
            misfit = self.line.misfit_ms(self.written.onset_of[note], time)
            if path_agrees or misfit <= max(_IN_PLACE_MS, _IN_PLACE * gap):
                yield min(misfit / gap, 1.0) + key_cost, event, note, False

    def _corrections(
        self, event: int, free: Mapping[int, Sequence[int]]
    ) -> Iterator[tuple[float, int, int, bool]]:
        """Yield the notes that were put right after a wrong key, with the cost of saying so."""
        following = self.run.strokes[self.order[event] + 1 :][:_FOLLOWERS]
        played = [stroke.event for stroke in following if stroke.event in self.pairs.played]
        reached = len(self.written.members)
        for follower in played:
            note = self.pairs.played[follower]
            between = sum(
                self.times[follower] - self.times[other] > _TOGETHER_MS for other in played if other < follower
            )
            reached = min(reached, self.written.group_of[note])
            key_cost = self._key_cost(event, note)
            if self.written.group_of[note] > reached or key_cost is None:
                continue
            if self._is_put_right(event, follower, note, between):
                passed_over = _PASSED_OVER if self._passes_over(note, free) else 0.0
                yield key_cost + _CORRECTION + _NOT_AT_ONCE * between + passed_over, event, note, True

    def _passes_over(self, note: int, free: Mapping[int, Sequence[int]]) -> bool:
        """Whether the hand has a note that was not played between this one and the last that was."""
        group, hand = self.written.group_of[note], self.written.notes[note].hand
        before, _ = self.pairs.hand_neighbours(note)
        start = -1 if before is None else self.written.group_of[self.pairs.played[before]]
        groups = range(max(start + 1, group - _ONSETS_AWAY), group)
        return any(self._is_in(other, hand) for near in groups for other in free.get(near, ()))

    def _is_put_right(self, event: int, follower: int, note: int, keys_between: int) -> bool:
        onset = self.written.onset_of[note]
        pace = self.line.pace(onset)
        between = self.times[follower] - self.times[event]
        if not _TOGETHER_MS < between < _LONGEST_CORRECTION_QUARTERS * pace:
            return False
        before, _ = self.pairs.hand_neighbours(note)
        if before is None:
            return keys_between < len(_HANDS)
        written_gap = (onset - self.written.onset_of[self.pairs.played[before]]) * pace
        share = (self.times[event] - self.times[before]) / written_gap
        late = self.times[follower] - self.times[before] - written_gap
        if share >= _IN_TIME and late >= _PLAINLY_LATE * written_gap and late >= _PLAINLY_LATE_MS:
            return True
        far = _KEY_COST.get(abs(self.keys[event] - self.keys[follower])) is None
        in_time, in_rhythm = (_FAR_IN_TIME, _FAR_LATE) if far else (_IN_TIME, _LATE)
        return share >= in_time and late >= min(_LATE_MS, in_rhythm * written_gap)

    def _key_cost(self, event: int, note: int) -> float | None:
        semitones = abs(self.keys[event] - self.written.key_of[note])
        if semitones == 0 or semitones > _REACH_SEMITONES:
            return None
        return _KEY_COST.get(semitones, 0.06 * semitones)

    def _local_gap(self, group: int) -> float:
        """Return the time between the onsets around this one, in milliseconds."""
        onsets = self.written.group_onsets
        low, high = max(0, group - 1), min(len(onsets) - 1, group + 1)
        quarters = float(onsets[high] - onsets[low]) / max(1, high - low)
        return max(30.0, quarters * self.line.pace(float(onsets[group])))
