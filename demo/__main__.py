"""`python3 demo`: everything from a fresh checkout to three addresses that work on a phone."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
STUDIO = ROOT / "demo" / ".studio"
sys.path.insert(0, str(ROOT / "backend"))

import environment  # noqa: E402 - found through the line above, before anything is installed


def main(arguments: list[str]) -> int:
    """Install, build the page, then hand over to `counterpane demo`."""
    try:
        python = environment.environment_python()
        environment.build_page(python)
    except environment.SetupError as error:
        environment.say(str(error))
        return 1
    if "--build-only" in arguments:
        return 0
    try:
        return subprocess.call(
            [str(python), "-m", "counterpane", "demo", "--folder", str(STUDIO), *arguments], cwd=ROOT
        )
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
