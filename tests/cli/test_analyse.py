"""`counterpane analyse`: one score, a folder, several processes, a cluster; the sheet; bad calls."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from distributed import LocalCluster

from counterpane.cli._batch import answers_on_cluster, scores_in
from counterpane.cli.analyse import command

ROOT = Path(__file__).resolve().parents[2]
PIECES = ROOT / "demo" / "pieces"
SCORES = ROOT / "tests" / "published" / "scores"


def analyse(*arguments: object) -> Result:
    """Run the command in this process; errors the command raises on purpose are in the result."""
    return CliRunner().invoke(command, [str(argument) for argument in arguments])


def counterpane(*arguments: object) -> subprocess.CompletedProcess[str]:
    """Run the real command in a process of its own."""
    words = [sys.executable, "-m", "counterpane", "analyse", *map(str, arguments)]
    return subprocess.run(words, capture_output=True, text=True, timeout=120, check=False)


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Make a folder of three pieces, one of them below, and a file that is no score."""
    folder = tmp_path / "library"
    (folder / "below").mkdir(parents=True)
    for name in ("two-lanterns", "the-ferry-bell"):
        shutil.copy(PIECES / f"{name}.musicxml", folder)
    shutil.copy(SCORES / "frere_jacques.krn", folder / "below")
    (folder / "torn.krn").write_text("this is no score")
    return folder


def test_one_score_is_one_json_object_and_nothing_else() -> None:
    """The object is all there is on standard output, and the exit code is 0."""
    run = counterpane(PIECES / "two-lanterns.musicxml", "--json")
    assert run.returncode == 0
    assert json.loads(run.stdout)["piece"]["title"] == "Two Lanterns"
    assert run.stderr == ""


def test_a_subject_can_be_marked() -> None:
    """--subject overrides the one that is found."""
    marked = json.loads(analyse(SCORES / "bwv772.krn", "--json", "--subject", "right:1:1.25-1:2.75").stdout)
    assert marked["subject"]["start"] == {"measure": 1, "beat": 1.25, "offset": 0.25}
    assert marked["subject"]["reason"] == "marked by hand"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("nowhere.krn", "--json"), "nowhere.krn"),
        ((PIECES / "two-lanterns.musicxml", "--subject", "middle"), "HAND:MEASURE:BEAT-MEASURE:BEAT"),
        ((PIECES / "two-lanterns.musicxml", "--subject", "right:90:1-91:1"), "no measure 90"),
        ((PIECES, "nowhere"), "nowhere does not exist"),
        ((PIECES, "--subject", "middle"), "HAND:MEASURE:BEAT-MEASURE:BEAT"),
        ((PIECES / "two-lanterns.musicxml", "--jobs", "0"), "0 is not in the range"),
        ((), "Missing argument"),
    ],
)
def test_a_bad_call_is_one_message_and_exit_code_2(arguments: tuple[object, ...], message: str) -> None:
    """Nothing is printed on standard output."""
    run = counterpane(*arguments)
    assert run.returncode == 2
    assert run.stdout == ""
    assert message in run.stderr
    assert "Traceback" not in run.stderr


def test_a_folder_without_scores_says_which_endings_are_known(tmp_path: Path) -> None:
    """The message names the folder and the endings."""
    run = counterpane(tmp_path)
    assert run.returncode == 2
    assert "holds no score" in run.stderr
    assert ".musicxml" in run.stderr


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_folder_is_one_line_a_piece_and_a_bad_file_costs_only_itself(library: Path, jobs: int) -> None:
    """Three lines in order of name, progress and the bad file on standard error, exit code 1."""
    run = counterpane(library, "--jobs", jobs)
    assert run.returncode == 1
    lines = [json.loads(line) for line in run.stdout.splitlines()]
    names = ["frere_jacques.krn", "the-ferry-bell.musicxml", "two-lanterns.musicxml"]
    assert [Path(line["score"]).name for line in lines] == names
    assert "4 of 4" in run.stderr
    assert "torn.krn: " in run.stderr
    assert "1 of 4 scores could not be analysed." in run.stderr


def test_nothing_but_bad_files_is_exit_code_2(library: Path) -> None:
    """When no score could be analysed, nothing was done."""
    assert counterpane(library / "torn.krn", library / "torn.krn").returncode == 2


def test_one_file_a_piece(library: Path, tmp_path: Path) -> None:
    """--out writes the line of each piece into a file of its name; a second piece of that name gets a number."""
    shutil.copy(PIECES / "two-lanterns.musicxml", library / "below")
    result = analyse(library, "--out", tmp_path / "out")
    assert result.stdout == ""
    written = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert written == ["frere_jacques.json", "the-ferry-bell.json", "two-lanterns-2.json", "two-lanterns.json"]
    assert json.loads((tmp_path / "out" / "two-lanterns.json").read_text())["piece"]["title"] == "Two Lanterns"


def test_the_sheet_for_bwv_772() -> None:
    """What a teacher counts with a pencil is on it: the table, entries on a line for each hand, what changed."""
    sheet = counterpane(SCORES / "bwv772.krn").stdout
    for words in (
        "Subject: right hand, m. 1 beat 1.25 to m. 1 beat 2.75: C4 D4 E4 F4 D4 E4 C4",
        "4 ╲ inverted",
        "↘ falling",
        "↗ rising",
        "four copies, falling",
        "three copies, rising",
        "an authentic cadence in G major",
        "The sequence rises where it fell.",
        "a rising sequence of 3 copies leads to it",
        "A proposal about style: grow through the rising",
    ):
        assert " ".join(words.split()) in " ".join(sheet.split()), words
    right = [line for line in sheet.splitlines() if line.startswith("right")]
    left = [line for line in sheet.splitlines() if line.startswith("left")]
    # Upright 1-2 in both hands, inverted 3-4 in the right hand only.
    assert right[0].split("│")[1:5] == ["╱───    ", "╱───    ", "╲───╲───", "╲───╲───"]
    assert [cell.strip()[:1] for cell in left[0].split("│")[1:5]] == ["╱", "╱", "", ""]


def test_the_sheet_of_a_piece_without_a_subject() -> None:
    """It says so, and still has the sections and cadences."""
    sheet = counterpane(SCORES / "chords.krn").stdout
    assert "count as a subject" in " ".join(sheet.split())
    assert "Cadences" in sheet


@pytest.fixture(scope="module")
def cluster() -> Iterator[LocalCluster]:
    """Run a scheduler and two worker processes on this machine."""
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as running:
        yield running


def test_a_cluster_gives_the_same_output(library: Path, cluster: LocalCluster) -> None:
    """Through a Dask scheduler come the same lines, the same messages and the same exit code."""
    alone, together = analyse(library), analyse(library, "--cluster", cluster.scheduler_address)
    assert together.exit_code == alone.exit_code == 1
    assert together.stdout == alone.stdout
    assert together.stderr == alone.stderr


def test_a_killed_worker_loses_nothing(library: Path, cluster: LocalCluster) -> None:
    """A worker is killed while scores are under way: every score still has its answer, in order."""
    scores = scores_in([library]) * 6
    answers = answers_on_cluster(scores, None, cluster.scheduler_address)
    received = [next(answers)]
    os.kill(next(iter(cluster.workers.values())).process.process.pid, signal.SIGKILL)
    received += answers
    assert [answer.score for answer in received] == [str(score) for score in scores]
    assert [answer.text is None for answer in received] == [score.name == "torn.krn" for score in scores]


def test_a_cluster_that_does_not_answer_is_one_sentence() -> None:
    """No scheduler at the address: exit code 2 and what to do."""
    started = time.monotonic()
    run = counterpane(PIECES / "two-lanterns.musicxml", "--cluster", "tcp://127.0.0.1:9")
    assert run.returncode == 2
    assert "no scheduler answers at tcp://127.0.0.1:9" in run.stderr
    assert time.monotonic() - started < 60
