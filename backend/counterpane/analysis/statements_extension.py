"""How far a statement goes on past its end: its last notes' movement repeated, higher or lower, unbroken."""

from __future__ import annotations

from counterpane.analysis.matching import Figure
from counterpane.analysis.statements_claims import Claim
from counterpane.analysis.steps import Line

# Fewer notes than this go on in the same way by chance.
LEAST_NOTES = 3
# The movement that is repeated has at most this many notes, and at most half of the figure's.
_LONGEST_MODEL = 8


def with_extensions(figure: Figure, line: Line, cover: list[Claim]) -> list[tuple[Claim, int]]:
    """Pair each claim with the number of notes by which it runs on.

    A tail that is only claimed because the statement before it repeats its own tail is part of that statement.
    """
    paired: list[tuple[Claim, int]] = []
    reached = -1
    for claim in cover:  # in the order of the line
        if claim.first_column and claim.last <= reached:
            continue
        if paired and claim.first <= reached:  # a statement of its own ends the extension
            before, _ = paired[-1]
            extra = claim.first - before.last
            paired[-1] = (before, extra if extra >= LEAST_NOTES else 0)
        extra = extension(line, claim) if claim.last_column == len(figure) - 1 else 0
        paired.append((claim, extra))
        reached = claim.last + extra if extra else -1
    return paired


def extension(line: Line, claim: Claim) -> int:
    """Count the notes after the claim's end that go on with the movement of its last notes."""
    longest = min(_LONGEST_MODEL, (claim.last - claim.first + 1) // 2)
    found = [(_repeats(line, claim.last, model), model) for model in range(1, longest + 1)]
    return max((count for count, model in found if count >= max(LEAST_NOTES, model)), default=0)


def _repeats(line: Line, last: int, model: int) -> int:
    """Count the notes after `last` that move, in steps and in time, as those `model` notes earlier did."""
    interval, gap = line.interval, line.gap
    count = 0
    while last + count < len(interval):
        note = last + count
        same_time = gap[note] == gap[note - model] or count == 0  # the last note's length is free
        if interval[note] != interval[note - model] or not same_time:
            break
        count += 1
    return count
