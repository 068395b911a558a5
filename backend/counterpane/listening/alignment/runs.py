"""From the path to runs: stretches of playing in written order, and the jumps between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from statistics import median

from counterpane.listening.alignment.path import ASTRAY, JUMP, STAY, Move
from counterpane.listening.alignment.positions import Positions
from counterpane.listening.alignment.written import Written
from counterpane.model.piece import Hands

NEXT_ONSETS = 3
"""A jump forward over fewer onsets than this is notes left out."""

_SKIPPED_SHARE = 0.5
"""Written time passed in less than this share of itself was skipped; otherwise its notes were left out."""

_ANY_PACE = 500.0
"""Milliseconds a quarter note, where nothing tells."""

_FALSE_START_KEYS = 2
"""At most so many wrong keys are thought to begin a run."""

_LEFT_OUT_QUARTERS = 8.0
"""A longer gap than this is never notes left out in passing."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """One key within a run: its event, the number of the onset where the player is, and what is being played."""

    event: int
    group: int
    hands: Hands
    takes: bool
    """Whether the key took a position of the onset, rather than being added there."""


@dataclass
class Run:
    """Keys struck in written order, without a jump; those astray belong to the run that they follow."""

    strokes: list[Stroke] = field(default_factory=list)
    astray: list[int] = field(default_factory=list)

    def renumber(self, order: Sequence[int]) -> None:
        """Give events their numbers in another order of the performance."""
        self.strokes = [replace(stroke, event=order[stroke.event]) for stroke in self.strokes]
        self.astray = [order[event] for event in self.astray]

    @property
    def first_group(self) -> int:
        """Number of the first onset."""
        return self.strokes[0].group

    @property
    def lowest_group(self) -> int:
        """Number of the earliest onset."""
        return min(stroke.group for stroke in self.strokes)

    @property
    def highest_group(self) -> int:
        """Number of the latest onset."""
        return max(stroke.group for stroke in self.strokes)

    @property
    def last_group(self) -> int:
        """Number of the last onset that was reached."""
        return self.strokes[-1].group


def split_into_runs(
    moves: Sequence[Move],
    positions: Positions,
    written: Written,
    keys: Sequence[int],
    times_ms: Sequence[float],
    usual_pace: float,
) -> list[Run]:
    """Cut the path where the player jumped; a path that is astray throughout is one run without strokes."""
    groups, layers = positions.group.tolist(), positions.layer.tolist()
    here, last = Run(), None
    runs = [here]
    for event, move in enumerate(moves):
        if move.position == ASTRAY:
            here.astray.append(event)
            continue
        stroke = Stroke(event, groups[move.position], positions.layers[layers[move.position]], move.kind != STAY)
        if last and stroke.takes:
            elapsed = times_ms[event] - times_ms[last.event]
            if _is_jump(move, last.group, stroke.group, elapsed, usual_pace, written):
                here = Run(_false_start(here, stroke, written, keys, times_ms, usual_pace))
                runs.append(here)
        here.strokes.append(stroke)
        last = stroke
    return runs


def _false_start(
    before: Run,
    first: Stroke,
    written: Written,
    keys: Sequence[int],
    times_ms: Sequence[float],
    usual_pace: float,
) -> list[Stroke]:
    """Take wrong keys off the end of a run that were struck after the jump already; return them as strokes there.

    Whoever begins somewhere else with a wrong key pauses before that one, not after it. A wrong key that came when
    its note was due was not paused before.
    """
    strokes, wrong = before.strokes, 0
    while wrong < min(_FALSE_START_KEYS, len(strokes) - 1) and _is_wrong(strokes[-1 - wrong], written, keys):
        wrong += 1
    pauses = [
        *_waits_ms(strokes[-1 - wrong :], written, times_ms, usual_pace),
        times_ms[first.event] - times_ms[strokes[-1].event],
    ]
    cut = len(strokes) - wrong + max(range(wrong + 1), key=lambda place: (pauses[place], place))
    begun = [Stroke(stroke.event, first.group, first.hands, False) for stroke in strokes[cut:]]
    del strokes[cut:]
    return begun


def _waits_ms(
    strokes: Sequence[Stroke], written: Written, times_ms: Sequence[float], usual_pace: float
) -> list[float]:
    """Return for how much longer than is written each key after the first was waited for."""
    onsets = written.group_onsets
    times = [times_ms[stroke.event] for stroke in strokes]
    due = [usual_pace * float(onsets[stroke.group]) for stroke in strokes]
    return [(b - a) - (d - c) for (a, b), (c, d) in zip(pairwise(times), pairwise(due), strict=True)]


def _is_wrong(stroke: Stroke, written: Written, keys: Sequence[int]) -> bool:
    return not stroke.takes or (stroke.group, keys[stroke.event]) not in written.by_group_and_key


def _is_jump(move: Move, origin: int, target: int, elapsed: float, usual_pace: float, written: Written) -> bool:
    if target <= origin:
        return move.kind == JUMP
    if target - origin <= NEXT_ONSETS:
        return False
    quarters = float(written.group_onsets[target] - written.group_onsets[origin])
    if move.kind == JUMP and quarters > _LEFT_OUT_QUARTERS:
        return True
    return elapsed < _SKIPPED_SHARE * quarters * usual_pace


def pace_of(moves: Sequence[Move], positions: Positions, written: Written, times_ms: Sequence[float]) -> float:
    """Return the median duration of a quarter note in ms, over steps from one onset to the next."""
    paces = []
    group_of, onsets = positions.group.tolist(), written.group_onsets.tolist()
    here, since = -9, 0.0
    for move, time in zip(moves, times_ms, strict=True):
        group = here if move.kind == STAY else group_of[move.position]
        if group == here:
            continue
        if group == here + 1 and move.kind != JUMP:
            paces.append((time - since) / (onsets[group] - onsets[here]))
        here, since = group, time
    return (median(paces) if paces else 0.0) or _ANY_PACE
