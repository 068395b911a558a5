"""The page at work: frames while it follows a player, traced by Chromium, and memory over an evening of tries.

`python -m pytest benchmarks/test_page_benchmark.py -s -p no:randomly` builds nothing: build the page first. The
server, the browser and the player share this machine, so the numbers are those of a busy one.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
from playwright.sync_api import CDPSession, Page

from counterpane.model.piece import Note
from tests.browser.conftest import (  # noqa: F401 - fixtures
    Open,
    base_url,
    browser_type_launch_args,
    come_in,
    device,
    furnished,
    seed,
    server,
)
from tests.browser.piano import PLUGGED_IN, RawEvent, play
from tests.browser.seeding import Seed
from tests.browser.serving import Server

PIECE = "patchwork-in-d-minor"
NOTES = 1_000
GAP_MS = 80.0
PHONE = 4.0
"""How much slower a phone is than this machine, as Lighthouse's mobile preset supposes."""
FRAME_MS = 1000 / 60
DIGIT = """([changes, gap]) => new Promise((done) => {
  const change = (left) => {
    document.body.textContent = String(left % 10);
    if (left > 0) setTimeout(change, gap, left - 1); else done();
  };
  change(changes);
})"""
ATTEMPTS = 200
LOOK_EVERY = 50
LEAST_LEVELLING = 0.5
"""What is kept by mistake grows with every try; what is warm-up levels off: the last fifty tries add less than
this share of what the second fifty added."""


@dataclass
class Frames:
    """What became of the frames in which there was something new to show.

    Chromium reports every frame of the screen's rhythm from its beginning to the moment at which it was seen
    (trace event PipelineReporter, category "cc"), with its state: presented, dropped (what was new came too late
    and was seen in a later one), or nothing to be done. `work_ms` is the processor time that the main thread spent
    on each (ProxyMain::BeginMainFrame): unlike the rest, it does not depend on what else runs.
    """

    shown_ms: list[float] = field(default_factory=list)
    work_ms: list[float] = field(default_factory=list)
    dropped: int = 0
    _begun: dict[tuple[int, str], dict[str, Any]] = field(default_factory=dict)

    def read(self, events: list[dict[str, Any]]) -> None:
        """Take in some of the trace, in the order in which it comes."""
        for event in events:
            if event["name"] == "ProxyMain::BeginMainFrame" and "tdur" in event:
                self.work_ms.append(event["tdur"] / 1000)
            if event["name"] != "PipelineReporter":
                continue
            key = event["pid"], event["id2"]["local"]
            if event["ph"] == "b":
                self._begun[key] = event
            elif begun := self._begun.pop(key, None):
                self._end(begun, event["ts"])

    def _end(self, begun: dict[str, Any], ended_us: float) -> None:
        state = begun["args"]["frame_reporter"]["state"]
        if state == "STATE_DROPPED":
            self.dropped += 1
        elif state.startswith("STATE_PRESENTED"):
            self.shown_ms.append((ended_us - begun["ts"]) / 1000)

    @property
    def dropped_share(self) -> float:
        """The share of frames that were not seen in their turn."""
        return self.dropped / (self.dropped + len(self.shown_ms))

    def line(self) -> str:
        """Return one line: how many, how many dropped, how long they took to be seen, and what they cost."""
        half, late = np.percentile(self.shown_ms, [50, 99])
        work = np.percentile(self.work_ms, [50, 99])
        return (
            f"{len(self.shown_ms)} frames shown, {self.dropped} dropped ({self.dropped_share:.1%}); "
            f"from a frame's beginning until it is seen: median {half:.1f} ms, 99 % within {late:.1f} ms, "
            f"longest {max(self.shown_ms):.1f} ms; "
            f"work a frame: median {work[0]:.2f} ms, 99 % within {work[1]:.2f} ms"
        )


def test_frames_while_following_a_thousand_notes(come_in: Open, server: Server, seed: Seed) -> None:  # noqa: F811
    """Both hands at about twelve keys a second: even on a phone the work fits into a sixtieth of a second.

    How many frames are dropped depends on what else the machine does, so a page on which only a digit changes, as
    often, stands beside it.
    """
    page = at_the_desk(come_in("Otter"), seed, "both-slow")
    notes = drill_notes(server, seed, ("right", "left"))
    following, followed = Frames(), 0
    while followed < NOTES:
        begin(page)
        with traced(page, following):
            play(page, paced(notes, GAP_MS))
        followed += len(notes)
        page.locator(".desk-next").wait_for()
    page.goto("about:blank")
    digit = Frames()
    with traced(page, digit):
        page.evaluate(DIGIT, [NOTES // 4, GAP_MS])
    print(f"\n{followed} notes followed: {following.line()}\na digit that changes: {digit.line()}")
    assert np.percentile(following.work_ms, 99) * PHONE <= FRAME_MS


@contextmanager
def traced(page: Page, frames: Frames) -> Iterator[None]:
    """Read Chromium's trace of its frames into `frames` for as long as the block lasts."""
    browser = page.context.browser
    assert browser
    devtools = browser.new_browser_cdp_session()
    devtools.on("Tracing.dataCollected", lambda told: frames.read(told["value"]))
    complete: list[dict[str, Any]] = []
    devtools.on("Tracing.tracingComplete", lambda told: complete.append(told))
    config = {"includedCategories": ["cc", "benchmark"]}
    devtools.send("Tracing.start", {"traceConfig": config, "transferMode": "ReportEvents"})
    yield
    devtools.send("Tracing.end")
    while not complete:
        page.wait_for_timeout(50)
    devtools.detach()


def test_memory_over_two_hundred_attempts(come_in: Open, server: Server, seed: Seed) -> None:  # noqa: F811
    """The heap after a forced collection levels off."""
    page = at_the_desk(come_in("Otter"), seed, "right-slow")
    notes = drill_notes(server, seed, ("right",))
    devtools = page.context.new_cdp_session(page)
    devtools.send("Performance.enable")
    heaps = []
    for attempt in range(1, ATTEMPTS + 1):
        begin(page)
        play(page, paced(notes, 10.0))
        page.get_by_role("button", name="Stop", exact=True).tap()
        page.locator(".desk-next").wait_for()
        if attempt % LOOK_EVERY == 0:
            heaps.append(heap_mb(devtools))
            print(f"\nafter {attempt:3} attempts {heaps[-1]:.2f} MB", end="")
    print()
    growth = [later - earlier for earlier, later in pairwise(heaps)]
    assert growth[-1] < max(growth[0], 0.0) * LEAST_LEVELLING or growth[-1] <= 0


def at_the_desk(page: Page, seed: Seed, step: str) -> Page:  # noqa: F811
    """Open a step of the first patch with a piano plugged in and no count-in."""
    page.context.add_init_script(PLUGGED_IN)
    page.goto(f"/desk/{seed.pieces[PIECE]}/p1/{step}")
    page.locator(".notation svg").first.wait_for()
    page.get_by_text("More settings").tap()
    page.get_by_label("Count in").uncheck()
    return page


def begin(page: Page) -> None:
    """Press Play, or Again."""
    page.locator(".desk-controls, .desk-next").get_by_role("button", name="Play", exact=True).or_(
        page.get_by_role("button", name="Again", exact=True)
    ).first.tap()
    page.get_by_text("Listening").wait_for()


def drill_notes(server: Server, seed: Seed, hands: tuple[str, ...]) -> list[Note]:  # noqa: F811
    """Return the notes of some hands in the first patch."""
    piece = server.studio.library.work(seed.pieces[PIECE]).piece
    return [note for note in piece.notes if note.hand in hands and piece.measure_at(note.onset).number <= 2]


def paced(notes: list[Note], gap_ms: float) -> list[RawEvent]:
    """Return key events that strike the notes in their order, one every `gap_ms`."""
    events: list[RawEvent] = []
    for number, note in enumerate(notes):
        events += [(number * gap_ms, 0x90, note.midi, 72), ((number + 0.8) * gap_ms, 0x80, note.midi, 0)]
    return events


def heap_mb(devtools: CDPSession) -> float:
    """Return the script's heap in megabytes after a forced collection."""
    devtools.send("HeapProfiler.collectGarbage")
    metrics = {one["name"]: one["value"] for one in devtools.send("Performance.getMetrics")["metrics"]}
    return float(metrics["JSHeapUsedSize"]) / 1e6
