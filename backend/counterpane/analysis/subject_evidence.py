"""Whether what returns is a subject: imitation between voices, more of it than chance and habit would bring.

A theme that is repeated with its whole setting, or that two voices play in parallel, is no subject; what
counts is that another voice takes it up at another time, or that it comes at another pitch. And the same notes
in another order must not do as well: the null model of this test is the figure with its intervals shuffled.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from counterpane.analysis.matching import Figure
from counterpane.analysis.null_model import NullModel
from counterpane.analysis.steps import Flags, Lines
from counterpane.analysis.subject_search import Reach, reach_of_prefixes

# What a shortened statement saves speaks for a shorter subject as much as for this one.
PART = 0.3
SHUFFLES = 5  # odd, so that one of them is the median
_SEED = 20


@dataclass(frozen=True)
class Evidence:
    """Bits saved by imitating statements, how many these are, and how many of them are in other voices."""

    saved: float
    returns: int
    in_other_voices: int
    opens: bool  # no statement comes before the candidate itself
    begun_before: bool  # most statements have the note before the candidate's first as well
    entry: float  # bits of the best statement with which another voice enters


def evidence_of(lines: Lines, reach: Reach, own: int) -> Evidence:
    """Sum what imitates the first statement, which begins at note `own` of the joined line."""
    own_line = lines.line_of_note[own]
    by_time: dict[int, tuple[float, int]] = {}
    repeated: set[int] = set()
    for first, worth, whole in zip(reach.firsts, reach.worths, reach.whole, strict=True):
        line = lines.line_of_note[first]
        time = lines.onset_of_note[first]
        said = (worth if whole else PART * worth, line)
        if time in by_time:  # voices in parallel count once, and as no imitation where the first is among them
            said = max(said, by_time[time])
            said = (said[0], own_line) if own_line in {line, by_time[time][1]} else said
        by_time[time] = said
        if line == own_line and lines.step_of_note[first] == lines.step_of_note[own]:
            repeated.add(time)  # and no voice counts where the first repeats itself
    own_time = lines.onset_of_note[own]
    counted = [said for time, said in by_time.items() if time != own_time and time not in repeated]
    return Evidence(
        saved=sum(worth for worth, _ in counted),
        returns=len(counted),
        in_other_voices=sum(line != own_line for _, line in counted),
        opens=min(by_time, default=own_time) >= own_time,
        begun_before=_begun_before(lines, reach, own),
        entry=_entry(lines, reach, own_time),
    )


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


def _entry(lines: Lines, reach: Reach, after: int) -> float:
    """Return the bits of the best statement, later than `after`, with which a voice begins to play at all."""
    worths = [0.0]
    for first, worth in zip(reach.firsts, reach.worths, strict=True):
        begin = lines.first_of_line[first]
        if lines.onset_of_note[begin] > after and first - begin <= 1:
            worths.append(worth)
    return max(worths)


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
