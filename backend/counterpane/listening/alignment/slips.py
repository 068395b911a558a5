"""Within a run: what the keys were that played no note.

In turn: part of a written ornament, a wrong key, another stroke of a note, or added. What keys may have been is in
`explanations`; those are taken that together cost least (`assignment`). Before that, keys are taken back that only
by chance are those of a neighbouring note, and strokes of a key are paired again where that explains more
(`which_stroke`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import inf

from counterpane.listening.alignment.assignment import assign
from counterpane.listening.alignment.costs import ORNAMENT_GAP_MS
from counterpane.listening.alignment.explanations import IN_PLACE, Explanations, struck_again
from counterpane.listening.alignment.held import ON_AVERAGE, Held, HeldShare
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.timeline import TimeLine
from counterpane.listening.alignment.which_stroke import settle_strokes
from counterpane.listening.alignment.wrong_keys import MOST, REACH_ONSETS, pitch_cost, time_cost
from counterpane.model.piece import Hand

_OUT_OF_TURN = 1.5
"""A key that came in another note's turn must fit that one better, in time and length, by so much ..."""

_MOST_TIME = 4.0
"""... where no time counts for more than this."""


def explain_slips(pairs: Pairs, shares: Mapping[Hand, HeldShare]) -> None:
    """Add to `pairs` what the unexplained keys of the run were, as far as they were anything.

    `shares` tell how long this player holds keys.
    """
    if pairs.played and not pairs.are_clean():
        _Slips(pairs, shares).explain()


class _Slips:
    def __init__(self, pairs: Pairs, shares: Mapping[Hand, HeldShare]) -> None:
        self.pairs = pairs
        self.written = pairs.written
        self.run = pairs.run
        self.keys = pairs.keys
        self.times = pairs.times_ms
        self.shares = shares
        self.line: TimeLine = pairs.time_line()

    def explain(self) -> None:
        self._explain_ornaments()
        self._take_back_out_of_turn()
        possible = settle_strokes(Explanations(self.pairs, self.shares))
        for event, (note, slot) in assign(possible, MOST).items():
            if slot == struck_again(event):
                self.pairs.strike_again(event, note)
                continue
            self.pairs.replaced[event] = note
            if slot == IN_PLACE:
                self.pairs.attempted.add(note)
        for end in (0, -1):
            self._reach_with_wrong_key(end)

    def _reach_with_wrong_key(self, place: int) -> None:
        """Let the run begin, or end, where the note is that its first, or last, key stood for."""
        stroke = self.run.strokes[place]
        note = self.pairs.replaced.get(stroke.event)
        if note is not None:
            self.run.strokes[place] = replace(stroke, group=self.written.group_of[note])

    def _take_back_out_of_turn(self) -> None:
        """Take back a key that came in the time of its hand's note before or after, when that one was not played.

        A wrong key often is the next note of a scale, or the last one once more.
        """
        held = Held(self.pairs, self.line, self.shares)
        for missing in self.pairs.free():
            for event in reversed(self.pairs.hand_neighbours(missing)):
                if event is not None and self._is_out_of_turn(event, missing, held):
                    note = self.pairs.take_back(event)
                    if note > missing and self.pairs.hand_neighbours(note)[1] is None:
                        self.pairs.attempted.discard(note)
                    break

    def _is_out_of_turn(self, event: int, missing: int, held: Held) -> bool:
        note, time = self.pairs.played[event], self.times[event]
        pitch = pitch_cost(self.keys[event] - self.written.key_of[missing])
        onsets_away = abs(self.written.group_of[note] - self.written.group_of[missing])
        if pitch is None or onsets_away > REACH_ONSETS:
            return False
        line = self.pairs.time_line_without(event)
        if len(line.onsets) < 2:
            return False
        as_written = time_cost(line, self.written.onset_of[note], time, _MOST_TIME) + held.cost(event, note)
        if as_written + ON_AVERAGE < _OUT_OF_TURN + pitch:
            return False  # however well it suits the missing one
        as_missing = time_cost(line, self.written.onset_of[missing], time, _MOST_TIME) + held.cost(event, missing)
        return as_written - as_missing - pitch >= _OUT_OF_TURN

    def _explain_ornaments(self) -> None:
        """Give the extra keys of a written ornament to the note that carries it, if that was played."""
        for ornamented in self.written.ornamented:
            main = self.pairs.taken.get(ornamented.note)
            if main is None:
                continue
            before, _ = self.pairs.hand_neighbours(ornamented.note)
            begin = -inf if before is None else self.times[before]
            end = max(self.line.at(ornamented.end), self.times[main] + ORNAMENT_GAP_MS)
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
                if abs(self.times[event] - self.times[last]) > ORNAMENT_GAP_MS:
                    break
                last = event
                yield event
