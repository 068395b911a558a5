"""The built wheel carries everything: code, page, drills and demo."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

_ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel as a release would and unpack it, which is what installing does."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "-q",
        "--no-deps",
        "--no-build-isolation",
        "-w",
        str(folder),
        ".",
    ]
    subprocess.run([*build, "--disable-pip-version-check"], cwd=_ROOT, check=True)
    (wheel,) = folder.glob("counterpane-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder / "site")
    return folder / "site"


def _run(unpacked: Path, *arguments: str) -> str:
    environment = {**os.environ, "PYTHONPATH": str(unpacked)}
    command = [sys.executable, *arguments]
    return subprocess.run(
        command, env=environment, capture_output=True, text=True, check=True, cwd=unpacked
    ).stdout


@pytest.mark.parametrize(
    "inside",
    [
        "_data/pwa/index.html",
        "_data/pwa/sw.js",
        "_data/drills/ladders.early.toml",
        "_data/demo/studio.py",
        "_data/demo/pieces/two-lanterns.musicxml",
        "py.typed",
        "store/migrations",
    ],
)
def test_what_a_user_needs_is_inside(unpacked: Path, inside: str) -> None:
    """No checkout is needed to serve the page, to drill or to see the demo."""
    assert (unpacked / "counterpane" / inside).exists()


def test_nothing_of_the_workshop_is_inside(unpacked: Path) -> None:
    """No tests, no caches, no studio that somebody seeded."""
    names = {path.name for path in unpacked.rglob("*")}
    assert not names & {"tests", "__pycache__", ".studio", "node_modules", "environment.py"}


def test_resources_are_found_in_the_wheel_and_not_in_the_checkout(unpacked: Path) -> None:
    """The page, the drills and the demo come from the installed package."""
    code = "from counterpane import resources as r; print(r.page_folder(), r.drills_folder(), r.demo_folder())"
    assert all(str(unpacked) in found for found in _run(unpacked, "-c", code).split())


def test_the_command_analyses_a_score(unpacked: Path) -> None:
    """An installed `counterpane analyse` reads the demo piece that the wheel brings."""
    piece = unpacked / "counterpane" / "_data" / "demo" / "pieces" / "two-lanterns.musicxml"
    assert '"subject"' in _run(unpacked, "-m", "counterpane", "analyse", str(piece), "--json")
