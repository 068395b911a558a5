"""A parent sees that practice happened and how to help, and nothing of other families."""

from __future__ import annotations

from datetime import datetime

from playwright.sync_api import expect

from counterpane.studio.log import log
from tests.browser.conftest import Open
from tests.browser.seeding import Seed
from tests.browser.serving import Server


def test_the_log_shows_weeks_and_minutes(come_in: Open, server: Server, seed: Seed) -> None:
    """Each day that was practised stands with its minutes, as the studio counted them."""
    kept = log(server.studio, seed.students["Otter"], 4, datetime.now().astimezone())
    page = come_in("Otter's parent")
    expect(page.get_by_role("heading", name="Practice log of Otter")).to_be_visible()
    expect(page.locator(".log-day")).to_have_count(sum(len(week.days) for week in kept.weeks))
    day = kept.weeks[0].days[0] if kept.weeks[0].days else kept.weeks[1].days[0]
    expect(page.locator(".log-day").first).to_contain_text(f"{round(day.minutes)} min")


def test_what_nobody_heard_is_said(come_in: Open, server: Server, seed: Seed) -> None:
    """An attempt without an instrument is called self-judged, so that the log claims nothing."""
    page = come_in("Otter's parent")
    page.locator(".log-day").first.wait_for()
    for day in page.locator(".log-day summary").all():
        day.tap()
    expect(page.get_by_text("judged by the student alone")).to_have_count(1)
    expect(page.get_by_text("self-judged").first).to_be_visible()


def test_the_parent_is_told_how_to_help(come_in: Open, server: Server, seed: Seed) -> None:
    """The ways to help are the studio's, in whole sentences."""
    kept = log(server.studio, seed.students["Otter"], 4, datetime.now().astimezone())
    page = come_in("Otter's parent")
    expect(page.get_by_role("heading", name="How to help this week")).to_be_visible()
    for way in kept.how_to_help:
        expect(page.get_by_role("listitem").filter(has_text=way)).to_be_visible()


def test_another_familys_log_stays_closed(come_in: Open, seed: Seed) -> None:
    """The address of another child's log is answered in one sentence, and shows nothing."""
    page = come_in("Otter's parent", at=f"/log/{seed.students['Finch']}")
    expect(page.get_by_role("alert")).to_be_visible()
    assert "Finch" not in page.locator("main").inner_text()
