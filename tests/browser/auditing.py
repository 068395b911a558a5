"""Lighthouse, in a browser that is signed in: what its mobile preset says of a page on the simulated slow phone.

It is a program for Node with packages of its own (tests/browser/lighthouse/), which `python3 tests` installs. Two
of them are asked for there as "latest": package.json pins these, too.
"""

from __future__ import annotations

import json
import subprocess
from dataclasses import dataclass
from pathlib import Path

PROGRAM = Path(__file__).parent / "lighthouse" / "node_modules" / "lighthouse" / "cli" / "index.js"
CATEGORIES = ("performance", "accessibility", "best-practices")
SLOWDOWN = 4.0
"""How much slower than this machine the simulated phone is, as the preset has it."""
POWER = 1500.0
"""The benchmark index from which on that slowdown is meant (Lighthouse's docs/throttling.md, "Calibrating the CPU
slowdown": 4 takes a machine of 1500 to 2000 to a phone of the middle range, and a weaker one takes less)."""


@dataclass(frozen=True)
class Audit:
    """Scores out of 100 by category, two paints in milliseconds, and how strong the machine was meanwhile."""

    scores: dict[str, int]
    first_paint_ms: float
    largest_paint_ms: float
    power: float

    @property
    def slowdown(self) -> float:
        """The slowdown that takes a machine as strong as this one to the phone that is meant."""
        return max(1.0, SLOWDOWN * min(1.0, self.power / POWER))


def audit(address: str, port: int, slowdown: float = SLOWDOWN) -> Audit:
    """Audit a page in the browser whose debugging port is `port`; its caches and worker are cleared before."""
    assert PROGRAM.is_file(), "Lighthouse is not installed: run `python3 tests` once, which does it."
    asked = ["--quiet", "--output=json", f"--port={port}", "--no-enable-error-reporting"]
    asked += [f"--throttling.cpuSlowdownMultiplier={slowdown}", f"--only-categories={','.join(CATEGORIES)}"]
    told = subprocess.run(["node", str(PROGRAM), address, *asked], capture_output=True, text=True, check=True)
    report = json.loads(told.stdout)
    return Audit(
        {name: round(100 * report["categories"][name]["score"]) for name in CATEGORIES},
        report["audits"]["first-contentful-paint"]["numericValue"],
        report["audits"]["largest-contentful-paint"]["numericValue"],
        report["environment"]["benchmarkIndex"],
    )
