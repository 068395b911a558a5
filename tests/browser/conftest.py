"""A furnished studio, a server on a copy of it, and people with a browser each."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.people import ARGS, PHONE, browser_program, enter
from tests.browser.seeding import Seed, furnish
from tests.browser.serving import Server

PATIENCE_MS = 30_000
"""How long a page may take to show what a test waits for: a busy machine is slow, and no test is about speed."""
expect.set_options(timeout=PATIENCE_MS)


class Open(Protocol):
    """Opens the page for somebody on a device of their own; `options` are those of the browser's context."""

    def __call__(self, who: str, at: str = "/", **options: Any) -> Page:
        """Sign somebody in ("Otter", "Otter's parent", "teacher", "nobody") and go to an address."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything in this folder, so that `-m "not browser"` leaves it out."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_type_launch_args, "executable_path": browser_program(), "args": ARGS}


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Seed]:
    """Furnish a studio file once; it is copied for every test."""
    path = tmp_path_factory.mktemp("studio") / "studio.db"
    return path, furnish(path, datetime.now().astimezone())


@pytest.fixture
def seed(furnished: tuple[Path, Seed]) -> Seed:
    return furnished[1]


@pytest.fixture
def server(furnished: tuple[Path, Seed], tmp_path: Path) -> Iterator[Server]:
    path = tmp_path / "studio.db"
    shutil.copy(furnished[0], path)
    running = Server(path)
    yield running
    running.close()


@pytest.fixture
def base_url(server: Server) -> str:
    return server.address


@pytest.fixture
def device(browser: Browser, server: Server) -> Iterator[Callable[..., BrowserContext]]:
    """Give somebody a device of their own: a phone, unless other options are named.

    At the end no page may have thrown an error or tried what its own content policy forbids.
    """
    opened: list[BrowserContext] = []
    faults: list[str] = []

    def make(**options: Any) -> BrowserContext:
        context = browser.new_context(**{"base_url": server.address, **PHONE, **options})
        context.set_default_timeout(PATIENCE_MS)
        context.on("weberror", lambda fault: faults.append(str(fault.error)))
        context.on("console", lambda line: faults.append(line.text) if "Content Security" in line.text else None)
        opened.append(context)
        return context

    yield make
    for context in opened:
        context.close()
    assert faults == []


@pytest.fixture
def come_in(device: Callable[..., BrowserContext], seed: Seed) -> Open:
    def come(who: str, at: str = "/", **options: Any) -> Page:
        page = device(**options).new_page()
        enter(page, who, seed, at)
        return page

    return come
