"""Which puzzle opens a section: one about it, at the student's level, of a kind not just asked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from counterpane.model.analysis import Puzzle
from counterpane.model.practice import Level, Patch
from counterpane.practice.ladder_settings import LEVELS
from counterpane.practice.ladders import check_level


def puzzle_for(patch: Patch, puzzles: Sequence[Puzzle], level: Level, asked: Iterable[str] = ()) -> Puzzle | None:
    """Return the puzzle that opens `patch`, or None when the piece has none.

    `asked` are the ids of puzzles answered before, oldest first. A puzzle that lies wholly in the patch is
    preferred to one that touches it, one at the student's level to an easier and that to a harder one, a kind
    that was not asked lately to one that was; a puzzle is repeated only when nothing else is left.
    """
    check_level(level)
    history = list(asked)
    kinds = [next((each.kind for each in puzzles if each.id == name), "") for name in history]
    wanted = LEVELS.index(level) + 1

    def price(puzzle: Puzzle) -> tuple[object, ...]:
        inside = patch.first_measure <= puzzle.first_measure and puzzle.last_measure <= patch.last_measure
        touches = puzzle.first_measure <= patch.last_measure and patch.first_measure <= puzzle.last_measure
        measures = puzzle.last_measure - puzzle.first_measure
        return (
            puzzle.id in history,
            not touches,
            puzzle.level > wanted,
            not inside,
            kinds[::-1].index(puzzle.kind) * -1 if puzzle.kind in kinds else -len(kinds) - 1,
            wanted - puzzle.level,
            measures,
            puzzle.id,
        )

    return min(puzzles, key=price, default=None)
