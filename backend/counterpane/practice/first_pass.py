"""In which order the sections of a piece are begun, and which one is today's.

Orders (a level's ladder file chooses one): *in-order* as they stand in the score; *easiest-next* the opening
first, since it shows the subject, then always the easiest patch beside one that was begun, so that seams soon
join them; *hardest-first* the opening, then the hardest of the rest.

One section at a time is in work. When it has not been finished in five days another one is begun, and they take
turns from day to day.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from counterpane.practice.ladders import Ladders
from counterpane.practice.units_of_work import Unit

STUCK_AFTER_DAYS = 5


def section_to_work_on(units: Sequence[Unit], day: date, ladders: Ladders) -> Unit | None:
    """Return today's section: the unfinished one, or the next new one.

    None when every patch is finished, or when today's section has been taken as far as it goes in a day.
    """
    sections = [unit for unit in units if unit.patch.kind == "patch" and not unit.finished]
    already = [unit for unit in units if unit.section_work_on(day)]
    if already:
        return next((unit for unit in already if not unit.finished and not unit.after_the_night), None)
    begun = [unit for unit in sections if unit.attempts and not unit.nearly_done]
    new = next_new(units, ladders)
    if not begun or (new and _another_may_begin(begun, units)):
        return new
    return min(begun, key=_last)


def _another_may_begin(begun: Sequence[Unit], units: Sequence[Unit]) -> bool:
    """Whether the sections in work had days enough: five for one, ten each for two, and so on.

    A single one also waits for its turn to pass.
    """
    stuck = all(unit.days_in_work >= STUCK_AFTER_DAYS * len(begun) for unit in begun)
    last_practice = max(unit.last_day for unit in units if unit.last_day is not None)
    return stuck and (len(begun) > 1 or begun[0].last_day == last_practice)


def next_new(units: Sequence[Unit], ladders: Ladders) -> Unit | None:
    """Return the patch to begin next: of the piece that has begun the smallest share of its patches."""
    waiting = {unit.assignment.piece for unit in units if unit.patch.kind == "patch" and not unit.attempts}
    pieces = [
        [unit for unit in units if unit.assignment.piece == piece and unit.patch.kind == "patch"]
        for piece in dict.fromkeys(unit.assignment.piece for unit in units)
        if piece in waiting
    ]
    if not pieces:
        return None
    patches = min(pieces, key=lambda each: sum(bool(unit.attempts) for unit in each) / len(each))
    return _choose(patches, ladders.lengths[patches[0].assignment.level].first_pass)


def _choose(patches: Sequence[Unit], order: str) -> Unit:
    new = [index for index, unit in enumerate(patches) if not unit.attempts]
    if order == "in-order" or 0 in new:
        return patches[new[0]]
    if order == "hardest-first":
        return patches[max(new, key=lambda index: patches[index].patch.difficulty.score)]
    beside = [i for i in new if any(0 <= j < len(patches) and patches[j].attempts for j in (i - 1, i + 1))]
    return patches[min(beside, key=lambda index: patches[index].patch.difficulty.score)]


def _last(unit: Unit) -> date:
    assert unit.last_day is not None
    return unit.last_day
