"""Somebody with a browser: which one is taken, and how they come in."""

from __future__ import annotations

import os
import shutil
from typing import Any

from playwright.sync_api import Page

from tests.browser.seeding import PASSPHRASE, Seed

ARGS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required"),
]
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
}


def browser_program() -> str:
    """Return the Chromium or Chrome to drive."""
    return os.environ.get("COUNTERPANE_BROWSER") or shutil.which("chromium") or "/usr/bin/chromium"


def enter(page: Page, who: str, seed: Seed) -> None:
    """Sign somebody in: "teacher", a student or a parent by name; "nobody" stays outside."""
    if who == "nobody":
        return
    if who == "teacher":
        page.goto("/sign-in")
        page.get_by_label("Passphrase").fill(PASSPHRASE)
        page.get_by_role("button", name="Open the studio").click()
    else:
        page.goto(f"/sign-in#{seed.tokens[who]}")
        page.locator(".care-read, .hem").first.wait_for()
        if page.locator(".care-read").is_visible():
            with page.expect_response("**/api/session/care-seen"):
                page.locator(".care-read").click()
    page.locator(".hem").wait_for()
