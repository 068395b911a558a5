"""Every screen of the page: who sees it, and where it is in the furnished studio."""

from __future__ import annotations

from dataclasses import dataclass

from tests.browser.seeding import Seed


@dataclass(frozen=True)
class Screen:
    """One screen; `at` is its address, with {piece} and {student} to fill in; `shows` waits until it is there."""

    name: str
    who: str
    at: str
    shows: str

    def address(self, seed: Seed) -> str:
        """Return the screen's address in this studio."""
        return self.at.format(piece=seed.pieces["patchwork-in-d-minor"], student=seed.students["Otter"])


SCREENS = (
    Screen("sign-in", "nobody", "/sign-in", "form"),
    Screen("care", "Otter", "/care", "h2"),
    Screen("today", "Otter", "/today", ".today-start"),
    Screen("quilt", "Otter", "/quilt/{piece}", ".block"),
    Screen("puzzles", "Otter", "/puzzle/{piece}", ".puzzle-line"),
    Screen("desk", "Otter", "/desk/{piece}/p1", ".notation svg"),
    Screen("log", "Otter's parent", "/log", ".log-day"),
    Screen("studio", "teacher", "/studio", ".studio-piece"),
    Screen("piece", "teacher", "/piece/{piece}", ".statement-bands rect"),
    Screen("sheet", "teacher", "/sheet/{piece}", ".statement-bands rect"),
    Screen("student", "teacher", "/student/{student}", ".coming-days li"),
    Screen("brief", "teacher", "/brief/{student}", ".brief-rest h2"),
)
