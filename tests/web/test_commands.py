"""The commands that make and keep a studio."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from tests.web.conftest import PASSPHRASE


def counterpane(*arguments: str, stdin: str = "", **variables: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "counterpane", *arguments],
        input=stdin,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={**os.environ, **variables},
    )


def test_a_studio_is_made_backed_up_and_restored(tmp_path: Path) -> None:
    """From nothing to a restored backup; every command answers with one JSON object."""
    studio, copy, other = (str(tmp_path / name) for name in ("studio.db", "backup.db", "other.db"))
    made = counterpane("studio", "create", studio, "--name", "Studio am Fluss", COUNTERPANE_PASSPHRASE=PASSPHRASE)
    assert json.loads(made.stdout) == {"studio": studio, "name": "Studio am Fluss"}
    assert "counterpane serve --studio" in made.stderr
    changed = counterpane("studio", "passphrase", studio, stdin="another lantern, another ferry\n")
    assert changed.returncode == 0
    backed = json.loads(counterpane("backup", copy, "--studio", studio).stdout)
    assert backed["bytes"] == Path(copy).stat().st_size
    restored = counterpane("restore", copy, "--studio", other)
    assert json.loads(restored.stdout) == {"studio": other, "kept": None}
    heard = json.loads(counterpane("reassess", "--studio", other, "--since", "2026-01-01").stdout)
    assert (heard["heard"], heard["not_heard"]) == (0, 0)


def test_a_mistake_is_one_sentence_and_exit_2(tmp_path: Path) -> None:
    studio = str(tmp_path / "studio.db")
    cases = (
        (("studio", "create", studio), "short", "at least 10 characters"),
        (("studio", "create", studio), "", "No passphrase was given"),
        (("serve", "--studio", studio), "", "counterpane studio create"),
        (("backup", studio + ".bak", "--studio", studio), "", "There is no studio file"),
        (("restore", studio + ".bak", "--studio", studio), "", "There is no backup"),
        (("reassess", "--studio", studio), "", "There is no studio file"),
    )
    for arguments, stdin, words in cases:
        found = counterpane(*arguments, stdin=f"{stdin}\n" if stdin else "")
        assert (found.returncode, found.stdout) == (2, ""), arguments
        assert words in found.stderr
        assert found.stderr.count("\n") == 1
    assert not Path(studio).exists()
