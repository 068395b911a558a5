"""How people come in, and that nobody else does."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime

from playwright.sync_api import BrowserContext, expect

from counterpane.studio import links
from tests.browser.conftest import Open
from tests.browser.seeding import PASSPHRASE, STUDIO_NAME, Seed
from tests.browser.serving import Server


def test_a_link_leads_to_todays_practice(device: Callable[..., BrowserContext], seed: Seed) -> None:
    """Link, cautions, start: three taps from the message to the instrument, and the token leaves the address."""
    page = device().new_page()
    page.goto(f"/sign-in#{seed.tokens['Newt']}")
    expect(page.get_by_role("heading", name="If something hurts, stop")).to_be_visible()
    expect(page).not_to_have_url(re.compile(seed.tokens["Newt"]))
    page.get_by_role("button", name="We have read it").tap()
    page.locator(".today-start").tap()
    page.wait_for_url("**/puzzle/**")
    expect(page.locator(".puzzle-question")).to_be_visible()


def test_the_cautions_are_read_once(come_in: Open) -> None:
    """Whoever has read them is not asked again, and finds them under Care."""
    page = come_in("Otter")
    page.goto("/")
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    page.get_by_role("link", name="Care").tap()
    expect(page.get_by_role("heading", name="If something hurts, stop")).to_be_visible()


def test_a_link_that_does_not_exist_is_answered_in_one_sentence(device: Callable[..., BrowserContext]) -> None:
    """The page says what is wrong and shows nothing of the studio."""
    page = device().new_page()
    page.goto("/sign-in#no-such-token")
    expect(page.get_by_role("alert")).to_contain_text("link")
    expect(page.locator(".hem")).to_have_count(0)


def test_a_stranger_is_sent_to_the_door(come_in: Open) -> None:
    """Every address leads to the sign-in page for somebody who is not signed in."""
    for address in ("/today", "/studio", "/log", "/brief/2", "/nowhere"):
        page = come_in("nobody", at=address)
        page.wait_for_url("**/sign-in")


def test_a_second_device_asks_for_the_pin(
    device: Callable[..., BrowserContext], server: Server, seed: Seed
) -> None:
    """A link opens on one device; there a PIN is chosen, and the next device has to know it."""
    wanted = links.WantedLink(seed.students["Otter"], "student")
    url = links.create_link(server.studio, None, wanted, server.address, datetime.now().astimezone()).url
    first = device().new_page()
    first.goto(url)
    first.get_by_role("button", name="We have read it").tap()
    expect(first.get_by_role("heading", name="Today")).to_be_visible()
    first.get_by_role("link", name="Care").tap()
    first.get_by_label("PIN").fill("2468")
    first.get_by_role("button", name="Keep this PIN").tap()
    expect(first.get_by_label("PIN")).to_have_count(0)
    second = device().new_page()
    second.goto(url)
    second.get_by_label("PIN").fill("1111")
    second.get_by_role("button", name="Come in").tap()
    expect(second.get_by_role("alert")).to_be_visible()
    second.get_by_label("PIN").fill("2468")
    second.get_by_role("button", name="Come in").tap()
    expect(second.get_by_role("heading", name="Today")).to_be_visible()


def test_the_teacher_has_a_passphrase(come_in: Open) -> None:
    """A wrong one is answered in one sentence; the right one opens the studio."""
    page = come_in("nobody", at="/sign-in")
    page.get_by_label("Passphrase").fill("guess")
    page.get_by_role("button", name="Open the studio").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Open the studio").click()
    expect(page.get_by_role("heading", name=STUDIO_NAME)).to_be_visible()


def test_signing_out_clears_the_device(come_in: Open) -> None:
    """Nothing of a child's practice stays behind for whoever takes the device next."""
    page = come_in("Otter")
    page.locator(".today-start").wait_for()
    page.wait_for_function(f"async () => (await {_KEPT}) > 0")
    page.get_by_role("link", name="Care").tap()
    page.get_by_role("button", name="Sign out").tap()
    page.wait_for_url("**/sign-in")
    page.wait_for_function(f"async () => (await {_KEPT}) === 0")
    page.goto("/today")
    page.wait_for_url("**/sign-in")


def test_the_page_speaks_the_persons_language(come_in: Open) -> None:
    """Finch reads German, whatever the browser says."""
    page = come_in("Finch")
    expect(page.get_by_role("heading", name="Heute")).to_be_visible()
    expect(page.locator("html")).to_have_attribute("lang", "de")


# How many answers of the server the device keeps.
_KEPT = """new Promise(done => {
  const asked = indexedDB.open('counterpane')
  asked.onsuccess = () => {
    const count = asked.result.transaction('kept').objectStore('kept').count()
    count.onsuccess = () => { asked.result.close(); done(count.result) }
  }
})"""
