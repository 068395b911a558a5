"""`counterpane drills check`: a count when all is in order, file, line and key when not."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

from counterpane.resources import drills_folder


def run(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "counterpane", "drills", "check", *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_the_drills_that_come_with_it_are_in_order() -> None:
    """Three levels with four ladders each, in two languages."""
    found = run()
    assert found.returncode == 0, found.stderr
    answer = json.loads(found.stdout)
    assert set(answer["steps"]) == {"early", "intermediate", "advanced"}
    assert all(set(kinds) == {"patch", "seam", "pair", "whole"} for kinds in answer["steps"].values())
    assert answer["languages"] == ["en", "de"]


def test_a_mistake_is_one_sentence_and_exit_code_2(tmp_path: Path) -> None:
    """The message goes to standard error and names file, line, key and what was expected."""
    folder = Path(shutil.copytree(drills_folder(), tmp_path / "mine"))
    path = folder / "ladders.early.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("repetitions = 3", "repetitions = 0", 1), encoding="utf-8"
    )
    found = run(folder)
    assert (found.returncode, found.stdout) == (2, "")
    assert found.stderr.startswith("ladders.early.toml: line ")
    assert "patch.3.repetitions: expected a whole number from 1 to 20, found 0" in found.stderr
    assert len(found.stderr.splitlines()) == 1


def test_a_folder_that_does_not_exist_is_one_sentence(tmp_path: Path) -> None:
    """Exit code 2, nothing on standard output."""
    found = run(tmp_path / "none")
    assert (found.returncode, found.stdout) == (2, "")
    assert "does not exist" in found.stderr
