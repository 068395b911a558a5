"""Pictures of every screen, phone and tablet, light and dark: `python -m tests.browser.screenshots OUT`."""

from __future__ import annotations

import argparse
import tempfile
from datetime import datetime
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.people import ARGS, browser_program, enter
from tests.browser.screens import SCREENS
from tests.browser.seeding import Seed, furnish
from tests.browser.serving import Server

SIZES = {"phone": (390, 844), "tablet": (820, 1180)}
SCHEMES = ("light", "dark")


def main() -> None:
    """Furnish a studio, serve it, and walk through it with a camera."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path, help="folder for the pictures, made when missing")
    parser.add_argument("--language", choices=["en", "de"], default="en", help="language of the student shown")
    parser.add_argument("--only", nargs="*", default=[], help="names of screens; all when left out")
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "studio.db"
        seed = furnish(path, datetime.now().astimezone(), language=arguments.language)
        server = Server(path)
        try:
            take_all(server, seed, arguments.out, arguments.only)
        finally:
            server.close()


def take_all(server: Server, seed: Seed, out: Path, only: list[str]) -> None:
    """Take every picture; each person signs in once for each size and scheme."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_program(), args=ARGS)
        for size in SIZES:
            for scheme in SCHEMES:
                take(browser, server, seed, out, size, scheme, only)
        browser.close()


def take(browser: Browser, server: Server, seed: Seed, out: Path, size: str, scheme: str, only: list[str]) -> None:
    """Take the pictures of one size and scheme."""
    width, height = SIZES[size]
    pages: dict[str, Page] = {}
    for screen in SCREENS:
        if only and screen.name not in only:
            continue
        if screen.who not in pages:
            context = browser.new_context(
                base_url=server.address,
                viewport={"width": width, "height": height},
                device_scale_factor=2,
                color_scheme=scheme,  # type: ignore[arg-type]  # one of the two names above
            )
            pages[screen.who] = context.new_page()
            enter(pages[screen.who], screen.who, seed)
        page = pages[screen.who]
        screen.open(page, seed)
        page.wait_for_load_state("networkidle")
        page.screenshot(path=out / f"{screen.name}-{size}-{scheme}.png")
    for page in pages.values():
        page.context.close()


if __name__ == "__main__":
    main()
