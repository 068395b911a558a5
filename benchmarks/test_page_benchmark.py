"""The page at work: frames while it follows a player, memory over an evening of tries, and an audit by Lighthouse.

`python -m pytest benchmarks/test_page_benchmark.py -s -p no:randomly` builds nothing: build the page first. The
server, the browser and the player share this machine, so the numbers are those of a busy one. The audit fetches
Lighthouse by npx into a temporary folder.
"""

from __future__ import annotations

import json
import socket
import subprocess
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
from playwright.sync_api import CDPSession, Page, Playwright

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
from tests.browser.people import ARGS, browser_program, enter
from tests.browser.piano import PLUGGED_IN, RawEvent, play
from tests.browser.seeding import Seed
from tests.browser.serving import Server

PIECE = "patchwork-in-d-minor"
NOTES = 1_000
FRAME_MS = 1000 / 60
LATE_MS = 1.5 * FRAME_MS
"""A gap longer than this has missed at least one frame of a 60 Hz screen."""
MORE_LATE_THAN_AT_REST = 0.05
ATTEMPTS = 200
LOOK_EVERY = 50
LEAST_LEVELLING = 0.5
"""What is kept by mistake grows with every try; what is warm-up levels off: the last fifty tries add less than
this share of what the second fifty added."""
LIGHTHOUSE = "lighthouse@12.2.3"
AUDITS = ("performance", "accessibility", "best-practices", "seo")
LEAST = {"performance": 90, "accessibility": 100, "best-practices": 100}

WATCH_FRAMES = """() => {
  window.gaps = [];
  window.measuring = false;
  const look = (last) => requestAnimationFrame((now) => {
    if (window.measuring) window.gaps.push(now - last);
    look(now);
  });
  look(performance.now());
}"""


@dataclass(frozen=True)
class Frames:
    """Times between frames in milliseconds."""

    gaps: list[float]

    @property
    def late(self) -> float:
        """The share of gaps in which a frame was missed."""
        return sum(gap > LATE_MS for gap in self.gaps) / len(self.gaps)

    def line(self, name: str) -> str:
        """Return one line of the table."""
        over = sum(round(gap, 1) > 16.7 for gap in self.gaps) / len(self.gaps)
        return (
            f"{name:10} {len(self.gaps):5} frames, median {median(self.gaps):.1f} ms, "
            f"95 % within {np.percentile(self.gaps, 95):.1f} ms, over 16.7 ms {over:.1%}, missed {self.late:.1%}"
        )


def test_frames_while_following_a_thousand_notes(come_in: Open, server: Server, seed: Seed) -> None:  # noqa: F811
    """Both hands at about twelve keys a second: hardly more frames are missed than on the same page at rest."""
    page = at_the_desk(come_in("Otter"), seed, "both-slow")
    notes = drill_notes(server, seed, ("right", "left"))
    page.evaluate(WATCH_FRAMES)
    page.evaluate("window.measuring = true")
    page.wait_for_timeout(5_000)
    rest = Frames(page.evaluate("window.gaps.splice(0)"))
    followed = 0
    while followed < NOTES:
        begin(page)
        page.evaluate("window.measuring = true")
        play(page, paced(notes, 80.0))
        page.evaluate("window.measuring = false")
        followed += len(notes)
        page.locator(".desk-next").wait_for()
    following = Frames(page.evaluate("window.gaps"))
    print(f"\n{followed} notes followed\n{rest.line('at rest')}\n{following.line('following')}")
    assert following.late <= rest.late + MORE_LATE_THAN_AT_REST


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


def test_lighthouse(playwright: Playwright, server: Server, seed: Seed, tmp_path: Path) -> None:  # noqa: F811
    """Today and Desk on the simulated slow phone, signed in."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    context = playwright.chromium.launch_persistent_context(
        str(tmp_path / "profile"),
        executable_path=browser_program(),
        args=[*ARGS, f"--remote-debugging-port={port}"],
        base_url=server.address,
    )
    enter(context.pages[0], "Otter", seed)
    context.pages[0].goto("about:blank")
    for at in ("/today", f"/desk/{seed.pieces[PIECE]}/p1/right-slow"):
        scores = audit(server.address + at, port, tmp_path)
        print(f"\n{at}: {scores}", end="")
        assert {name: scores[name] for name in LEAST if scores[name] < LEAST[name]} == {}
    print()
    context.close()


def audit(address: str, port: int, folder: Path) -> dict[str, int]:
    """Return Lighthouse's scores out of 100 for its mobile preset, in the browser that listens on `port`."""
    asked = ["--quiet", "--output=json", f"--port={port}", "--disable-storage-reset"]
    told = subprocess.run(
        ["npx", "--yes", LIGHTHOUSE, address, *asked, f"--only-categories={','.join(AUDITS)}"],  # noqa: S607
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    )
    categories: dict[str, Any] = json.loads(told.stdout)["categories"]
    return {name: round(100 * categories[name]["score"]) for name in AUDITS}


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
