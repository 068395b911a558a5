"""Whether what returns is a subject: imitation between voices, more of it than chance and habit would bring.

A theme that is repeated with its whole setting, or that two voices play in parallel, is no subject; what
counts is that another voice takes it up at another time, or that it comes at another pitch. And the same notes
in another order must not do as well: the null model of this test is the figure with its intervals shuffled.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from counterpane.analysis.matching import Figure
from counterpane.analysis.null_model import NullModel
from counterpane.analysis.steps import Flags, Lines
from counterpane.analysis.subject_search import Reach, reach_of_prefixes

# What a shortened statement saves speaks for a shorter subject as much as for this one; and so does, for a longer
# one, what the legs of a sequence save: episodes are made of its head.
PART = 0.3
# Of the statements in a canon this share at least is followed at the one distance.
_NEARLY_EVERY = 0.8
SHUFFLES = 5  # odd, so that one of them is the median
_SEED = 20


@dataclass(frozen=True)
class Evidence:
    """Bits saved by imitating statements, how many these are, and how many of them are in other voices."""

    saved: float
    leading: float  # ... of which the whole legs of a sequence count in part
    returns: int
    in_other_voices: int
    opens: bool  # no statement comes before the candidate itself
    begun_before: bool  # most statements have the note before the candidate's first as well
    entry: float  # bits of the best statement with which another voice enters
    answer: float  # ... with which a voice that has been playing answers soon
    canon: int  # ticks after which another voice follows every statement; 0 where it does not always do so


def evidence_of(lines: Lines, reach: Reach, own: int) -> Evidence:
    """Sum what imitates the first statement, which begins at note `own` of the joined line."""
    own_line = lines.line_of_note[own]
    by_time: dict[int, tuple[float, int, bool]] = {}  # bits, line, whether it is a whole leg of a sequence
    repeated: set[int] = set()
    legs = _legs(lines, reach, own)
    for first, worth, whole, leg in zip(reach.firsts, reach.worths, reach.whole, legs, strict=True):
        line = lines.line_of_note[first]
        time = lines.onset_of_note[first]
        said = (worth if whole else PART * worth, line, leg and whole)
        if time in by_time:  # voices in parallel count once, and as no imitation where the first is among them
            said = max(said, by_time[time])
            said = (said[0], own_line, said[2]) if own_line in {line, by_time[time][1]} else said
        by_time[time] = said
        if line == own_line and lines.step_of_note[first] == lines.step_of_note[own]:
            repeated.add(time)  # and no voice counts where the first repeats itself
    own_time = lines.onset_of_note[own]
    entry, answer = _entries(lines, reach, own)
    counted = [said for time, said in by_time.items() if time != own_time and time not in repeated]
    return Evidence(
        saved=sum(worth for worth, _, _ in counted),
        leading=sum(PART * worth if leg else worth for worth, _, leg in counted),
        returns=len(counted),
        in_other_voices=sum(line != own_line for _, line, _ in counted),
        opens=min(by_time, default=own_time) >= own_time,
        begun_before=_begun_before(lines, reach, own),
        entry=entry,
        answer=answer,
        canon=_canon(lines, reach, own),
    )


def _legs(lines: Lines, reach: Reach, own: int) -> list[bool]:
    """Say of each statement whether it is a leg of a sequence: the one before in its voice, at another pitch.

    No more time than the one before has taken passes between the two, and no other voice answers meanwhile.
    """
    line, onset, step = lines.line_of_note, lines.onset_of_note, lines.step_of_note
    begins = sorted(onset[first] for first in reach.firsts)
    legs = [False] * len(reach.firsts)
    for index, (before, last, first) in enumerate(
        zip(reach.firsts, reach.lasts, reach.firsts[1:], strict=False), 1
    ):
        soon = line[before] == line[first] and onset[first] - onset[last] <= onset[last] - onset[before]
        answered = bisect_right(begins, onset[before]) < bisect_left(begins, onset[first])
        legs[index] = first != own and soon and not answered and step[first] != step[before]
    return legs


def _begun_before(lines: Lines, reach: Reach, own: int) -> bool:
    """Say whether what returns begins earlier than the candidate: the step to its first note returns too."""
    if own == lines.first_of_line[own]:
        return False
    step, time = _move_to(lines, own)
    moves = [_move_to(lines, first) for first in reach.firsts if first != own and first > 0]
    alike = sum(abs(one) == abs(step) and after == time for one, after in moves)
    return bool(moves) and 2 * alike >= len(moves)


def _move_to(lines: Lines, note: int) -> tuple[int, int]:
    """Return the steps and the ticks of the joined line from the note before to this one."""
    step = lines.step_of_note[note] - lines.step_of_note[note - 1]
    time = lines.onset_of_note[note] - lines.onset_of_note[note - 1]
    return step, time + lines.apart * (lines.line_of_note[note] - lines.line_of_note[note - 1])


def _entries(lines: Lines, reach: Reach, own: int) -> tuple[float, float]:
    """Return the bits of the best statement with which another voice enters, and of the best answer amid its line.

    A voice enters when it begins to play, or where it answers the first statement after a rest. An answer comes
    before twice the length of that statement is over.
    """
    line = lines.joined
    after = lines.onset_of_note[own]
    soon = 2 * (lines.onset_of_note[own + reach.size - 1] - after)
    entry = answer = 0.0
    for first, worth in zip(reach.firsts, reach.worths, strict=True):
        begin = lines.first_of_line[first]
        begins = first - begin <= 1 and lines.onset_of_note[begin] > after
        answers = begin != lines.first_of_line[own] and 0 < lines.onset_of_note[first] - after <= soon
        if begins or (answers and first > begin and line.onset[first] > line.end[first - 1]):
            entry = max(entry, worth)
        elif answers:
            answer = max(answer, worth)
    return entry, answer


def _canon(lines: Lines, reach: Reach, own: int) -> int:
    """Return the time in ticks after which another voice follows, if it follows nearly every statement so."""
    clear = max(reach.worths, default=0.0) / 2
    stated = {
        (lines.onset_of_note[first], lines.line_of_note[first])
        for first, worth in zip(reach.firsts, reach.worths, strict=True)
        if worth >= clear
    }
    own_time, own_line = lines.onset_of_note[own], lines.line_of_note[own]
    later = min((time for time, line in stated if time > own_time and line != own_line), default=own_time)
    apart = later - own_time
    voices = range(len(lines.lines))
    paired = [
        any((time + way, other) in stated for way in (apart, -apart) for other in voices if other != line)
        for time, line in stated
    ]
    return apart if sum(paired) >= _NEARLY_EVERY * len(paired) else 0


def mostly_saves_less(savings: Iterable[float], most: float) -> bool:
    """Say whether the median of `SHUFFLES` savings is `most` or less; takes no more of them than that needs."""
    less = more = 0
    for saved in savings:
        less, more = (less + 1, more) if saved <= most else (less, more + 1)
        if 2 * max(less, more) > SHUFFLES:
            break
    return less > more


def shuffled_savings(
    lines: Lines, null_model: NullModel, figure: Figure, own: int, stated: Flags
) -> Iterator[float]:
    """Yield what the figure's intervals would save (bits) in each of `SHUFFLES` other orders.

    What lies mostly on notes that are `stated` is the figure itself under another name and is left out.
    """
    random = np.random.default_rng(_SEED)
    intervals = np.diff(figure.step)
    for _ in range(SHUFFLES):
        step = np.concatenate([[0], np.cumsum(random.permutation(intervals))])
        shuffled = replace(figure, step=step, bits=null_model.information(step, figure.onset))
        [reach] = reach_of_prefixes(shuffled, (len(figure),), lines)
        reach = _elsewhere(reach, stated)
        yield evidence_of(lines, reach, own).saved


def _elsewhere(reach: Reach, stated: Flags) -> Reach:
    kept = [
        index
        for index, (first, last) in enumerate(zip(reach.firsts, reach.lasts, strict=True))
        if 2 * np.count_nonzero(stated[first : last + 1]) <= last + 1 - first
    ]
    return replace(
        reach,
        firsts=tuple(reach.firsts[index] for index in kept),
        lasts=tuple(reach.lasts[index] for index in kept),
        worths=tuple(reach.worths[index] for index in kept),
        whole=tuple(reach.whole[index] for index in kept),
    )
