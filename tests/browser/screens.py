"""Every screen of the page, and what opens on it: who sees it, and where it is in the furnished studio."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page

from counterpane.score import read_score
from tests.browser.desk import PIECE, TEMPO, hurry
from tests.browser.piano import PLUGGED_IN, keys, play
from tests.browser.seeding import PIECES, Seed


@dataclass(frozen=True)
class Screen:
    """One screen; `at` is its address, with {piece} and {student} to fill in.

    `opens` is what somebody taps on it, if anything; then it is there when `shows` is.
    """

    name: str
    who: str
    at: str
    shows: str
    opens: Callable[[Page], None] | None = None

    def open(self, page: Page, seed: Seed) -> None:
        """Go to the screen, open what opens on it, and wait until it is there."""
        page.goto(self.address(seed))
        if self.opens:
            self.opens(page)
        page.locator(self.shows).first.wait_for()

    def address(self, seed: Seed) -> str:
        """Return the screen's address in this studio."""
        return self.at.format(piece=seed.pieces[PIECE], student=seed.students["Otter"])


def _section(page: Page) -> None:
    page.locator(".block").first.click()


def _puzzle(page: Page) -> None:
    page.locator("a[href^='/puzzle/']").last.click()


def _settings(page: Page) -> None:
    _plug_in(page)
    page.get_by_role("button", name="Listen to my keyboard").click()
    page.get_by_text("More settings").click()


def _told(page: Page) -> None:
    """Play the right hand with one wrong key, and read what is told."""
    _plug_in(page)
    hurry(page)
    piece = read_score(PIECES / f"{PIECE}.musicxml").piece
    notes = [note for note in piece.notes if note.hand == "right" and piece.measure_at(note.onset).number <= 2]
    page.get_by_role("button", name="Play", exact=True).click()
    play(page, keys(notes, TEMPO, moved={notes[5].id: 1}))


def _fingering(page: Page) -> None:
    page.get_by_role("button", name="Propose a fingering").click()
    page.locator(".finger").first.wait_for()
    page.get_by_label(re.compile("^Note")).select_option(index=3)
    page.get_by_role("button", name="Finger 1").scroll_into_view_if_needed()


def _plug_in(page: Page) -> None:
    page.add_init_script(PLUGGED_IN)
    page.reload()


SCREENS = (
    Screen("sign-in", "nobody", "/sign-in", "form"),
    Screen("care", "Otter", "/care", "h2"),
    Screen("today", "Otter", "/today", ".today-start"),
    Screen("quilt", "Otter", "/quilt/{piece}", ".block"),
    Screen("section", "Otter", "/quilt/{piece}", ".section-dialog", _section),
    Screen("puzzles", "Otter", "/puzzle/{piece}", ".puzzle-line"),
    Screen("puzzle", "Otter", "/puzzle/{piece}", ".notation svg", _puzzle),
    Screen("desk", "Otter", "/desk/{piece}/p1", ".notation svg"),
    Screen("settings", "Otter", "/desk/{piece}/p1", "text=Measure it", _settings),
    Screen("told", "Otter", "/desk/{piece}/p1/right-slow", ".desk-finding", _told),
    Screen("log", "Otter's parent", "/log", ".log-day"),
    Screen("studio", "teacher", "/studio", ".studio-piece"),
    Screen("piece", "teacher", "/piece/{piece}", ".statement-bands rect"),
    Screen("fingering", "teacher", "/piece/{piece}", ".finger", _fingering),
    Screen("sheet", "teacher", "/sheet/{piece}", ".statement-bands rect"),
    Screen("student", "teacher", "/student/{student}", ".coming-days li"),
    Screen("brief", "teacher", "/brief/{student}", ".brief-rest h2"),
)
