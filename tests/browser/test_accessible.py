"""Nobody is shut out: axe finds nothing, on any screen, in light and dark, from a small phone to a desktop."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.conftest import Open
from tests.browser.desk import TEMPO, at_the_desk, hurry, right_hand
from tests.browser.people import enter
from tests.browser.piano import PLUGGED_IN, keys, play
from tests.browser.screens import SCREENS, Screen
from tests.browser.seeding import Seed
from tests.browser.serving import Server

Scheme = Literal["light", "dark"]
See = Callable[[Screen, Scheme], Page]
WIDTHS = {320: 640, 390: 844, 820: 1180, 1280: 800}
# axe-core's rule tags: WCAG 2.0 to 2.2, levels A and AA (W3C), and its own best practice.
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
SMALLEST_TARGET_PX = 44


@pytest.fixture(scope="module")
def served(furnished: tuple[Path, Seed], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One server for all screens: looking changes nothing."""
    path = tmp_path_factory.mktemp("seen") / "studio.db"
    shutil.copy(furnished[0], path)
    server = Server(path)
    yield server
    server.close()


@pytest.fixture(scope="module")
def see(browser: Browser, served: Server, furnished: tuple[Path, Seed]) -> Iterator[See]:
    """Show a screen in a colour scheme to the person who sees it, who signs in once."""
    seed = furnished[1]
    pages: dict[tuple[str, str], Page] = {}

    def show(screen: Screen, scheme: Scheme) -> Page:
        key = (screen.who, scheme)
        if key not in pages:
            context = browser.new_context(base_url=served.address, color_scheme=scheme, reduced_motion="reduce")
            pages[key] = context.new_page()
            enter(pages[key], screen.who, seed)
        screen.open(pages[key], seed)
        return pages[key]

    yield show
    for page in pages.values():
        page.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", SCREENS, ids=lambda screen: screen.name)
def test_everybody_can_use_the_screen(screen: Screen, scheme: Scheme, see: See) -> None:
    """Axe finds nothing, nothing scrolls sideways, and what is tapped is at least 44 px both ways."""
    _usable_at_every_width(see(screen, scheme), screen.shows)


def _usable_at_every_width(page: Page, shows: str) -> None:
    """Look at the page as it stands with axe, and at what scrolls sideways or is too small to tap."""
    for width, height in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": height})
        page.locator(shows).first.wait_for()
        result = Axe().run(page, options=RULES)
        assert result.violations_count == 0, f"at {width} px: {result.generate_report()}"
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(_TOO_SMALL, SMALLEST_TARGET_PX) == []


@pytest.mark.parametrize("at", ["/today", "/quilt/{piece}", "/puzzle/{piece}", "/care", "/desk/{piece}/p1"])
def test_longer_words_fit_as_well(at: str, come_in: Open, seed: Seed) -> None:
    """German words are longer than English ones: they fit on the smallest phone, too."""
    narrow = {"width": 320, "height": 640}
    page = come_in("Finch", at=at.format(piece=seed.pieces["the-ferry-bell"]), viewport=narrow, is_mobile=False)
    page.locator("h1").first.wait_for()
    page.wait_for_load_state("networkidle")
    assert page.evaluate("document.documentElement.scrollWidth") <= narrow["width"]
    assert page.evaluate(_CUT_OFF) == []


_CUT_OFF = """() => [...document.querySelectorAll('.hem a, .button, h1, h2, .sewn-label')]
  .filter(one => one.checkVisibility() && getComputedStyle(one).display !== 'inline')
  .filter(one => one.getBoundingClientRect().right > innerWidth || one.scrollWidth > one.clientWidth + 1)
  .map(one => one.textContent)"""

_TOO_SMALL = """least => [...document.querySelectorAll('a[href], button, summary, select, input, textarea')]
  .map(one => one.closest('label.choice') ?? one)
  .filter(one => one.checkVisibility())
  .map(one => ({ name: one.textContent.trim().slice(0, 40), box: one.getBoundingClientRect() }))
  .filter(({ box }) => box.width > 0 && (box.width < least - 0.5 || box.height < least - 0.5))
  .map(({ name, box }) => `${name}: ${Math.round(box.width)} x ${Math.round(box.height)}`)"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_try_that_was_told_can_be_used_as_well(
    scheme: Scheme, come_in: Open, server: Server, seed: Seed
) -> None:
    """The question about a transposed piano while somebody plays, what is told after it, and the settings."""
    page = at_the_desk(come_in("Otter", color_scheme=scheme), seed, PLUGGED_IN)
    _, notes = right_hand(server, seed)
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    play(page, keys(notes[:10], TEMPO, by=2))
    page.get_by_role("button", name="Yes, it is").wait_for()
    page.get_by_role("button", name="Stop").tap()
    page.locator(".desk-finding").first.wait_for()
    _usable_at_every_width(page, "text=Is your piano meant to be set like that?")
    page.get_by_role("button", name="Yes, it is").tap()
    page.get_by_text("The page remembers that for this piano.").wait_for()
    page.reload()
    page.get_by_role("button", name="Listen to my keyboard").tap()
    page.get_by_text("More settings").tap()
    page.get_by_role("button", name="Not any more").wait_for()
    _usable_at_every_width(page, "text=Measure it")


def test_the_longest_words_at_the_desk_fit_as_well(come_in: Open, seed: Seed) -> None:
    """German, on the smallest phone, with every setting open."""
    narrow = {"width": 320, "height": 640}
    page = come_in("Finch", viewport=narrow, is_mobile=False)
    page.context.add_init_script(PLUGGED_IN)
    page.goto(f"/desk/{seed.pieces['the-ferry-bell']}/p1/right-slow")
    page.get_by_role("button", name="Mein Klavier hören").tap()
    page.get_by_text("Mehr Einstellungen").tap()
    page.get_by_role("button", name="Messen").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= narrow["width"]
    assert page.evaluate(_CUT_OFF) == []
