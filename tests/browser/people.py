"""Somebody with a browser: which one is taken, and how they come in."""

from __future__ import annotations

import os
import shutil
from typing import Any

from playwright.sync_api import BrowserContext, Page

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


def enter(page: Page, who: str, seed: Seed, at: str = "/") -> None:
    """Sign somebody in and open an address: "teacher", a student or a parent by name; "nobody" stays outside.

    The browser gets its session as the sign-in screen gets it, and the cautions are read; these screens have tests
    of their own (test_coming_in.py).
    """
    if who != "nobody":
        sign_in(page.context, who, seed)
    if who != "nobody" or at != "/":
        page.goto(at)


def sign_in(browser: BrowserContext, who: str, seed: Seed) -> None:
    """Give a browser somebody's session."""
    if who == "teacher":
        assert browser.request.post("/api/session/passphrase", data={"passphrase": PASSPHRASE}).ok
        return
    session = browser.request.post("/api/session/link", data={"token": seed.tokens[who]}).json()
    assert browser.request.post("/api/session/care-seen", headers={"X-Csrf": session["csrf"]}).ok
