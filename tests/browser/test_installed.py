"""The page can be installed, is light, keeps its own policy, and takes a newer version when the user says so."""

from __future__ import annotations

import gzip
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Response, expect

from counterpane.resources import page_folder
from tests.browser.conftest import Open
from tests.browser.people import enter
from tests.browser.piano import PLUGGED_IN
from tests.browser.seeding import Seed
from tests.browser.serving import Server

MOST_SCRIPT_BYTES = 100_000
"""What the first load may cost in script, compressed, before any sound (the project's design, section 12)."""


def test_it_can_be_installed(come_in: Open) -> None:
    """The browser finds no fault in the manifest (W3C Web Application Manifest), and every icon is there."""
    page = come_in("Otter")
    devtools = page.context.new_cdp_session(page)
    found = devtools.send("Page.getAppManifest")
    assert found["errors"] == []
    icons = json.loads(found["data"])["icons"]
    assert {"192x192", "512x512", "any"} <= {icon["sizes"] for icon in icons}
    assert any(icon.get("purpose") == "maskable" for icon in icons)
    for icon in icons:
        assert page.request.get(f"/{icon['src']}").ok


def test_the_first_load_is_light(come_in: Open, seed: Seed) -> None:
    """All script that Today fetches before anything is tapped stays under the budget, compressed."""
    page = come_in("nobody", service_workers="block")
    answers: list[Response] = []
    page.on("response", lambda answer: answers.append(answer))
    enter(page, "Otter", seed)
    page.locator(".today-start").wait_for()
    page.wait_for_load_state("networkidle")
    scripts = {answer.url: answer.body() for answer in answers if answer.url.endswith(".js")}
    assert scripts
    assert sum(len(gzip.compress(script, 9)) for script in scripts.values()) < MOST_SCRIPT_BYTES


def test_no_third_party_is_contacted(come_in: Open, server: Server, seed: Seed) -> None:
    """Whatever screen is opened, every request goes to the studio itself."""
    page = come_in("Otter")
    asked: set[str] = set()
    page.context.on("request", lambda request: asked.add(request.url))
    for address in ("/today", f"/quilt/{seed.pieces['patchwork-in-d-minor']}", "/puzzle", "/care"):
        page.goto(address)
        page.wait_for_load_state("networkidle")
    assert all(re.match(rf"{server.address}/|data:|blob:", url) for url in asked)


@pytest.fixture
def newer(tmp_path: Path, furnished: tuple[Path, Seed]) -> Iterator[tuple[Server, Path]]:
    """Serve a copy of the built page that a test may make newer."""
    folder = tmp_path / "page"
    shutil.copytree(page_folder(), folder)
    path = tmp_path / "studio.db"
    shutil.copy(furnished[0], path)
    server = Server(path, page=folder)
    yield server, folder
    server.close()


def test_the_user_decides_when_to_update(newer: tuple[Server, Path], come_in: Open, seed: Seed) -> None:
    """A newer page is offered, not forced: it is taken with a tap, and the page comes back where it was."""
    server, folder = newer
    page = come_in("nobody", base_url=server.address)
    enter(page, "Otter", seed)
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    page.reload()
    worker = folder / "sw.js"
    worker.write_text(worker.read_text() + "\n// a newer version\n")
    page.evaluate("navigator.serviceWorker.getRegistration().then(found => found.update())")
    expect(page.get_by_text("A newer version of the page is here.")).to_be_visible()
    page.evaluate("window.before = true")
    with page.expect_navigation():
        page.get_by_role("button", name="Use it now").tap()
    assert page.evaluate("window.before === undefined")
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    expect(page.get_by_text("A newer version of the page is here.")).to_have_count(0)


@pytest.mark.parametrize(
    "store",
    [
        "delete window.indexedDB; delete Window.prototype.indexedDB;",
        "IDBFactory.prototype.open = () => { throw new DOMException('refused', 'SecurityError'); };",
    ],
    ids=["missing", "refused"],
)
def test_a_browser_that_keeps_nothing_is_told_so(store: str, come_in: Open) -> None:
    """Without IndexedDB what was played could be lost: one sentence with a way out, and no blank page."""
    page = come_in("nobody")
    page.context.add_init_script(store)
    page.goto("/today")
    expect(page.get_by_role("alert")).to_contain_text("This browser keeps nothing for the page")


def test_a_second_tab_waits_for_its_try(newer: tuple[Server, Path], come_in: Open, seed: Seed) -> None:
    """The update is taken in one tab; the tab in which somebody plays comes back on the newer page afterwards."""
    server, folder = newer
    first = come_in("nobody", base_url=server.address)
    first.context.add_init_script(PLUGGED_IN)
    enter(first, "Otter", seed)
    first.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    first.reload()
    playing = first.context.new_page()
    playing.goto(f"/desk/{seed.pieces['patchwork-in-d-minor']}/p1/right-slow")
    playing.locator(".notation svg").first.wait_for()
    playing.get_by_text("More settings").tap()
    playing.get_by_label("Count in").uncheck()
    playing.get_by_role("button", name="Play", exact=True).tap()
    expect(playing.get_by_text("Listening")).to_be_visible()
    playing.evaluate("window.before = true; window.piano.send([0x90, 62, 72], performance.now())")
    worker = folder / "sw.js"
    worker.write_text(worker.read_text() + "\n// a newer version\n")
    first.evaluate("navigator.serviceWorker.getRegistration().then(found => found.update())")
    with first.expect_navigation():
        first.get_by_role("button", name="Use it now").click()
    playing.wait_for_timeout(1_000)
    assert playing.evaluate("window.before")
    expect(playing.get_by_text("Listening")).to_be_visible()
    with playing.expect_navigation():
        playing.get_by_role("button", name="Stop").click()
    assert playing.evaluate("window.before === undefined")
