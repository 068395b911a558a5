"""The way to the desk, quick enough for a test, and the notes that are played there."""

from __future__ import annotations

import re

from playwright.sync_api import Page

from counterpane.model.piece import Note, Piece
from tests.browser.seeding import Seed
from tests.browser.serving import Server

PIECE = "patchwork-in-d-minor"
TEMPO = 200


def at_the_desk(page: Page, seed: Seed, midi: str, step: str = "right-slow", patch: str = "p1") -> Page:
    """Open a step of a patch on a device with this kind of MIDI, quick enough for a test."""
    page.context.add_init_script(midi)
    page.goto(f"/desk/{seed.pieces[PIECE]}/{patch}/{step}")
    page.locator(".notation svg").first.wait_for()
    return page


def hurry(page: Page) -> None:
    """Bring the tempo to 200 quarters a minute with the page's own button, and do without the count-in."""
    shown = int(re.sub(r"\D", "", page.locator(".desk-tempo").inner_text()))
    steps = max(0, -(-(TEMPO - shown) // 4))
    page.get_by_role("button", name="Faster").evaluate(
        "async (b, steps) => { while (steps--) { b.click(); await new Promise(requestAnimationFrame); } }",
        steps,
    )
    page.get_by_text("More settings").click()
    page.get_by_label("Count in").uncheck()


def right_hand(server: Server, seed: Seed, first: int = 1, last: int = 2) -> tuple[Piece, list[Note]]:
    """Return the piece and the right hand's notes in some measures."""
    piece = server.studio.library.work(seed.pieces[PIECE]).piece
    inside = range(first, last + 1)
    return piece, [n for n in piece.notes if n.hand == "right" and piece.measure_at(n.onset).number in inside]
