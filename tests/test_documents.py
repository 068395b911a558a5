"""The documents cannot fall behind, and the lock files name no registry."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from counterpane.cli import commands

_ROOT = Path(__file__).parents[1]


def _read(name: str) -> str:
    return (_ROOT / name).read_text(encoding="utf-8")


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    """Title, then one paragraph that names the three people."""
    first = _read("README.md").split("\n\n")[1]
    assert {"teacher", "student", "parent"} <= set(re.findall(r"\w+", first.lower()))


@pytest.mark.parametrize("name", commands.list_commands(None))  # type: ignore[arg-type] # the context is not used
def test_every_command_is_in_the_readme(name: str) -> None:
    """A command that nobody can read about does not exist."""
    assert f"counterpane {name}" in _read("README.md")


@pytest.mark.parametrize("name", commands.list_commands(None))  # type: ignore[arg-type] # the context is not used
def test_every_command_explains_itself(name: str) -> None:
    """`--help` begins with a sentence."""
    command = commands.get_command(None, name)  # type: ignore[arg-type] # the context is not used
    assert command is not None
    assert (command.help or "").strip().endswith((".", ")", ":")) or "." in (command.help or "")


def test_the_map_of_the_house_is_true() -> None:
    """Every folder and file that the map in DEVELOPERS.md names is there."""
    tree = re.search(r"```\n(.*?)```", _read("DEVELOPERS.md"), re.DOTALL)
    assert tree is not None
    stack: list[tuple[int, Path]] = [(-1, _ROOT)]
    for line in tree[1].splitlines():
        match = re.match(r"( *)([\w./]+?)/?(?: {2,}|$)", line)
        if match is None or len(match[1]) > 8:
            continue
        while stack[-1][0] >= len(match[1]):
            stack.pop()
        path = stack[-1][1] / match[2]
        assert path.exists(), line
        stack.append((len(match[1]), path))


@pytest.mark.parametrize("folder", ["pwa", "tests/browser/lighthouse"])
def test_lock_files_name_no_registry(folder: str) -> None:
    """Packages are asked for by name, from whatever registry the machine uses."""
    assert '"resolved"' not in _read(f"{folder}/package-lock.json")


def test_every_python_module_stays_small() -> None:
    """No module of the package is longer than 400 lines."""
    long = {
        str(path.relative_to(_ROOT)): count
        for path in (_ROOT / "backend").rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert long == {}
