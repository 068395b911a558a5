"""`python3 tests`: set up a fresh machine, then run every check and the whole suite.

Arguments are handed to pytest, and then only pytest runs: `python3 tests tests/score -k pickup`.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "backend"))

import environment  # noqa: E402 - found through the line above, before anything is installed

_AUDIT = ROOT / "tests" / "browser" / "lighthouse"
_BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")


def main(arguments: list[str]) -> int:
    """Set up, then run the checks in order; the suite comes last, so that its summary closes the output."""
    try:
        python = environment.environment_python("tests")
        environment.build_page(python)
        environment.install_packages(python, environment.PAGE, "the page is built with")
        environment.install_packages(python, _AUDIT, "audits the page (185 MB, for the tests alone)")
        os.environ["PATH"] = environment.path_with_node(python)
        os.environ["COUNTERPANE_BROWSER"] = _browser()
        if not arguments:
            _check(python)
    except environment.SetupError as error:
        environment.say(str(error))
        return 1
    environment.say("Running the suite …")
    return subprocess.call([str(python), "-m", "pytest", *arguments], cwd=ROOT)


def _check(python: Path) -> None:
    """Style, types, the direction of imports, and the page's own tests."""
    scripts = python.parent
    steps: list[tuple[str, list[str | Path]]] = [
        ("style", [scripts / "ruff", "check", "."]),
        ("format", [scripts / "ruff", "format", "--check", "."]),
        ("types", [scripts / "mypy"]),
        ("direction of imports", [scripts / "lint-imports", "--no-cache"]),
    ]
    for name, command in steps:
        with _timed(name):
            if subprocess.call(command, cwd=ROOT):
                raise environment.SetupError(f"The check of {name} failed: the lines above say where.")
    for script in ("check", "test"):
        with _timed(f"page: {script}"):
            environment.npm(python, ["run", script], f"`npm run {script}` failed: the lines above say where.")


@contextmanager
def _timed(name: str) -> Iterator[None]:
    start = time.monotonic()
    yield
    environment.say(f"  {name}: fine ({time.monotonic() - start:.0f} s)")


def _browser() -> str:
    """Return a Chromium or Chrome: one that is there, else Debian's package where it may be installed."""
    named = os.environ.get("COUNTERPANE_BROWSER")
    found = named or next(filter(None, map(shutil.which, _BROWSERS)), None)
    if found:
        return found
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        environment.say("Installing Debian's Chromium for the browser tests …")
        unattended = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for step in (["update", "-q"], ["install", "-y", "-q", "chromium"]):
            subprocess.call(["apt-get", *step], stdout=subprocess.DEVNULL, env=unattended)
        installed = shutil.which("chromium")
        if installed:
            return installed
    raise environment.SetupError(
        "The browser tests need Chromium or Chrome: install one (on Debian: apt-get install chromium), "
        "or name it in the variable COUNTERPANE_BROWSER, then try again."
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
