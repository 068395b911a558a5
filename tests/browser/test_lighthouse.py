"""Today and the Desk on a slow phone, as Lighthouse's mobile preset simulates one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright

from counterpane.web.serving import free_port
from tests.browser.auditing import SLOWDOWN, Audit, audit
from tests.browser.people import ARGS, browser_program, sign_in
from tests.browser.seeding import Seed
from tests.browser.serving import FIRST_PORT, Server

LEAST = {"performance": 90, "accessibility": 100, "best-practices": 100}
FIRST_VIEW_MS = 2000
TRIES = 3


@pytest.fixture
def debugged(playwright: Playwright, server: Server, seed: Seed, tmp_path: Path) -> Iterator[int]:
    """Open a browser in which Otter is signed in and has seen no page yet; give its debugging port."""
    port = free_port("127.0.0.1", FIRST_PORT)
    context = playwright.chromium.launch_persistent_context(
        str(tmp_path / "profile"),
        executable_path=browser_program(),
        args=[*ARGS, f"--remote-debugging-port={port}"],
        base_url=server.address,
    )
    sign_in(context, "Otter", seed)
    yield port
    context.close()


@pytest.mark.parametrize("at", ["/today", "/desk/{piece}/p1/right-slow"])
def test_a_slow_phone_shows_the_page_quickly(at: str, debugged: int, server: Server, seed: Seed) -> None:
    """The first load has performance 90, accessibility and best practices 100, and a first view in two seconds.

    The phone is simulated from what this machine does, so a machine that is busy is given up to three tries, each
    after the first with the slowdown that fits how strong it was.
    """
    address = server.address + at.format(piece=seed.pieces["patchwork-in-d-minor"])
    slowdown, short = SLOWDOWN, {"not audited": 0.0}
    for _ in range(TRIES):
        found = audit(address, debugged, slowdown)
        slowdown, short = found.slowdown, shortfalls(found)
        if not short:
            break
    assert short == {}


def shortfalls(found: Audit) -> dict[str, float]:
    """Return what is less than it has to be, by name."""
    low: dict[str, float] = {name: score for name, score in found.scores.items() if score < LEAST[name]}
    return low | ({"first view, ms": found.first_paint_ms} if found.first_paint_ms >= FIRST_VIEW_MS else {})
