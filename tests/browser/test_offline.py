"""With no network practice goes on, and what was done arrives exactly once, in order, whatever happened."""

from __future__ import annotations

import re
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.browser.conftest import PATIENCE_MS, Open
from tests.browser.people import enter
from tests.browser.seeding import Seed
from tests.browser.serving import Server

PIECE = "patchwork-in-d-minor"
_WAITING = ".notices .notice"


@pytest.fixture
def answers(server: Server, tmp_path: Path) -> Callable[[], list[str]]:
    """Read the puzzles that were answered, in the order in which their answers arrived."""

    def read() -> list[str]:
        with sqlite3.connect(f"file:{tmp_path / 'studio.db'}?mode=ro", uri=True) as db:
            return [row[0] for row in db.execute("SELECT puzzle_id FROM puzzle_answer ORDER BY rowid")]

    return read


def eventually(page: Page, answers: Callable[[], list[str]], wanted: list[str]) -> None:
    """Wait until exactly these answers have arrived, in this order, and no more follow.

    It is the page that waits, since what a test does to requests on their way is done only meanwhile.
    """
    deadline = time.monotonic() + PATIENCE_MS / 1000
    while answers() != wanted and time.monotonic() < deadline:
        page.wait_for_timeout(100)
    page.wait_for_timeout(300)
    assert answers() == wanted


def ready(page: Page) -> None:
    """Wait until the worker serves the page and today's practice has been packed."""
    page.goto("/today")
    page.locator(".today-start").wait_for()
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    page.get_by_text("works without a network").wait_for()


def answer_choice(page: Page, piece: int, puzzle: str) -> None:
    """Answer a puzzle that has choices with the first one."""
    page.goto(f"/puzzle/{piece}/{puzzle}")
    page.locator(".puzzle-choices button").first.click()
    page.get_by_role("heading", name=re.compile("^(Yes|Not quite)")).wait_for()


def choices(server: Server, seed: Seed) -> list[str]:
    """Return ids of puzzles that are answered by a choice."""
    library = server.studio.library
    found = library.puzzles(library.work(seed.pieces[PIECE]), "en")
    return [puzzle.id for puzzle in found if puzzle.kind.startswith("choose-")]


def test_the_installed_page_opens_and_practises(come_in: Open, server: Server, seed: Seed) -> None:
    """Today, its drill with score and ladder, its puzzles and the quilt are there when the network is not."""
    page = come_in("Newt")
    ready(page)
    drill = page.locator("a[href^='/desk/']").first.get_attribute("href")
    puzzle = page.locator("a[href^='/puzzle/']").first.get_attribute("href")
    server.stop()
    page.goto("/")
    expect(page.locator(".today-start")).to_be_visible()
    assert drill
    assert puzzle
    for address, shows in (
        (drill, ".notation > svg"),
        (puzzle, ".notation > svg"),
        (f"/quilt/{seed.pieces['two-lanterns']}", ".block"),
        ("/care", "h2"),
    ):
        page.goto(address)
        expect(page.locator(shows).first).to_be_visible()


def test_what_was_not_kept_is_said_in_one_sentence(come_in: Open, server: Server, seed: Seed) -> None:
    """A screen that needs the network says so, and works again when it returns."""
    page = come_in("Otter")
    ready(page)
    server.stop()
    page.goto(f"/quilt/{seed.pieces['two-lanterns']}")
    expect(page.get_by_role("alert")).to_contain_text("cannot be reached")
    server.start()
    page.goto(f"/quilt/{seed.pieces[PIECE]}")
    expect(page.locator(".block").first).to_be_visible()


def test_answers_wait_and_arrive_in_order(
    come_in: Open, server: Server, seed: Seed, answers: Callable[[], list[str]]
) -> None:
    """Two answers wait with a word about it; with the network they arrive once, the first first."""
    first, second = choices(server, seed)[:2]
    page = come_in("Otter")
    ready(page)
    page.goto(f"/puzzle/{seed.pieces[PIECE]}")
    page.locator(".puzzle-line").first.wait_for()
    for puzzle in (first, second):
        page.goto(f"/puzzle/{seed.pieces[PIECE]}/{puzzle}")
        page.locator(".puzzle-choices").wait_for()
        page.locator(".notation > svg").first.wait_for()
    server.stop()
    for puzzle in (first, second):
        answer_choice(page, seed.pieces[PIECE], puzzle)
    expect(page.locator(_WAITING)).to_contain_text("2 things")
    assert answers() == []
    server.start()
    page.reload()
    eventually(page, answers, [first, second])
    expect(page.locator(_WAITING)).to_have_count(0)


def test_an_answer_whose_receipt_was_lost_counts_once(
    come_in: Open, server: Server, seed: Seed, answers: Callable[[], list[str]]
) -> None:
    """The server kept it, the page was killed before it heard so, and sends it again: one answer stands."""
    puzzle = choices(server, seed)[0]
    page = come_in("Otter")
    ready(page)

    def lose(route: Route) -> None:
        route.fetch()
        route.abort()

    page.context.route("**/api/puzzle-answers", lose)
    answer_choice(page, seed.pieces[PIECE], puzzle)
    expect(page.locator(_WAITING)).to_be_visible()
    eventually(page, answers, [puzzle])
    page.close(run_before_unload=False)
    page.context.unroute("**/api/puzzle-answers")
    again = page.context.new_page()
    again.goto("/today")
    again.locator(".today-start").wait_for()
    expect(again.locator(_WAITING)).to_have_count(0)
    eventually(again, answers, [puzzle])


def test_two_tabs_deliver_one_queue(
    come_in: Open, server: Server, seed: Seed, answers: Callable[[], list[str]]
) -> None:
    """Both tabs see what waits; when the network returns, every answer arrives once, in order."""
    first, second, third = choices(server, seed)[:3]
    one = come_in("Otter")
    ready(one)
    two = one.context.new_page()
    ready(two)
    one.goto(f"/puzzle/{seed.pieces[PIECE]}")
    one.locator(".puzzle-line").first.wait_for()
    server.stop()
    answer_choice(one, seed.pieces[PIECE], first)
    answer_choice(two, seed.pieces[PIECE], second)
    answer_choice(one, seed.pieces[PIECE], third)
    for tab in (one, two):
        expect(tab.locator(_WAITING)).to_contain_text("3 things")
    server.start()
    for tab in (one, two):
        tab.evaluate("dispatchEvent(new Event('online'))")
    for tab in (one, two):
        expect(tab.locator(_WAITING)).to_have_count(0)
    eventually(one, answers, [first, second, third])


def test_two_devices_of_one_student(
    come_in: Open,
    device: Callable[..., BrowserContext],
    server: Server,
    seed: Seed,
    answers: Callable[[], list[str]],
) -> None:
    """A phone and a tablet that were both offline bring everything, each its own, each once."""
    first, second = choices(server, seed)[:2]
    phone = come_in("Otter")
    tablet = device(viewport={"width": 820, "height": 1180}).new_page()
    enter(tablet, "Otter", seed)
    for page in (phone, tablet):
        ready(page)
        page.goto(f"/puzzle/{seed.pieces[PIECE]}")
        page.locator(".puzzle-line").first.wait_for()
    server.stop()
    answer_choice(phone, seed.pieces[PIECE], first)
    answer_choice(tablet, seed.pieces[PIECE], second)
    server.start()
    tablet.reload()
    eventually(tablet, answers, [second])
    phone.reload()
    eventually(phone, answers, [second, first])


def test_a_refused_write_is_told_and_does_not_hold_up_the_rest(
    come_in: Open, server: Server, seed: Seed, answers: Callable[[], list[str]]
) -> None:
    """What the server will never take is shown with its sentence until somebody has read it."""
    first, second = choices(server, seed)[:2]
    page = come_in("Otter")
    ready(page)
    refusal = '{"error": "This puzzle is no longer in the piece."}'
    page.context.route("**/api/puzzle-answers", lambda route: route.fulfill(status=422, body=refusal), times=1)
    answer_choice(page, seed.pieces[PIECE], first)
    expect(page.get_by_text("This puzzle is no longer in the piece.")).to_be_visible()
    answer_choice(page, seed.pieces[PIECE], second)
    page.get_by_role("button", name="I have read it").tap()
    expect(page.get_by_text("This puzzle is no longer in the piece.")).to_have_count(0)
    eventually(page, answers, [second])


def test_a_session_that_ended_keeps_what_waits(
    come_in: Open, server: Server, seed: Seed, answers: Callable[[], list[str]]
) -> None:
    """Signed out from elsewhere, the page keeps the answer until the same student has come in again."""
    puzzle = choices(server, seed)[0]
    page = come_in("Otter")
    ready(page)
    page.goto(f"/puzzle/{seed.pieces[PIECE]}/{puzzle}")
    page.locator(".puzzle-choices").wait_for()
    page.wait_for_load_state("networkidle")
    page.context.clear_cookies()
    page.locator(".puzzle-choices button").first.tap()
    expect(page.locator(_WAITING)).to_be_visible()
    enter(page, "Otter", seed)
    expect(page.locator(_WAITING)).to_have_count(0)
    eventually(page, answers, [puzzle])


def test_a_device_without_room_says_so(come_in: Open, server: Server, seed: Seed) -> None:
    """When nothing more can be kept, the answer is sent at once and the person is told in plain words."""
    page = come_in("Otter")
    ready(page)
    page.evaluate(_NO_ROOM)
    page.get_by_role("link", name="Puzzle", exact=True).tap()
    puzzle = choices(server, seed)[0]
    page.locator(f"a[href$='/{puzzle}']").first.tap()
    page.locator(".puzzle-choices button").first.tap()
    expect(page.get_by_text("This device has no room left.")).to_be_visible()


def test_an_evicted_store_is_noticed(come_in: Open) -> None:
    """A browser that cleared the store behind our back is noticed at the next opening, and told."""
    page = come_in("Otter")
    ready(page)
    page.evaluate(_CLEAR_NOTES)
    page.reload()
    expect(page.get_by_text("This browser threw away what was kept here")).to_be_visible()


_NO_ROOM = """() => {
  IDBObjectStore.prototype.add = () => { throw new DOMException('no room', 'QuotaExceededError') }
}"""

_CLEAR_NOTES = """() => new Promise(done => {
  const asked = indexedDB.open('counterpane')
  asked.onsuccess = () => {
    const change = asked.result.transaction('notes', 'readwrite')
    change.objectStore('notes').clear()
    change.oncomplete = () => { asked.result.close(); done() }
  }
})"""
