"""`counterpane plan STUDENT`: the coming days as a table or as JSON, one sentence for a bad call."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from counterpane.cli.plan import command
from counterpane.errors import CounterpaneError
from counterpane.studio import people, pieces
from counterpane.studio.house import create_studio

NOW = datetime(2026, 3, 2, 16, 0, tzinfo=UTC)
SCORE = Path(__file__).parents[2] / "demo" / "pieces" / "two-lanterns.musicxml"


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("plan") / "studio.db"
    opened = create_studio(path, "Studio am Fluss", "a lantern on the ferry", NOW)
    pieces.import_piece(opened, SCORE.read_bytes(), SCORE.name, NOW)
    for nickname in ("Robin", "Kim", "Kim"):
        people.add_student(opened, None, people.NewStudent(nickname, level="early"), NOW)
    people.assign(opened, None, 2, (people.Assigned(1),), NOW)
    opened.close()
    return path


def run(*arguments: object) -> Result:
    return CliRunner().invoke(command, [str(each) for each in arguments])


def today() -> date:
    return datetime.now().astimezone().date()


def test_two_weeks_are_printed_as_a_table(studio: Path) -> None:
    """Fourteen days, the first of them today, each thing with its reason."""
    before, printed, after = today(), run("Robin", "--studio", studio), today()
    assert printed.exit_code == 0
    days = [line for line in printed.output.splitlines() if not line.startswith(" ")]
    assert len(days) == 14
    assert any(str(day) in days[0] for day in (before, after))
    assert "Two Lanterns: Measures 1 to" in printed.output


def test_the_same_as_json_for_a_student_by_number(studio: Path) -> None:
    """One JSON object; the first day that has anything to do begins with a puzzle."""
    start = today() + timedelta(days=1)
    found = json.loads(run("2", "--studio", studio, "--days", 3, "--from", start, "--json").output)
    assert [day["date"] for day in found["days"]] == [str(start + timedelta(days=n)) for n in range(3)]
    items = next(day["items"] for day in found["days"] if day["items"])
    assert [item["kind"] for item in items] == ["puzzle", "new"]
    assert all(day["minutes"] <= day["budget"] for day in found["days"])


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["Nobody"], "There is no student Nobody in this studio: choose one of Kim, Kim, Robin."),
        (["Kim"], "Several students are called Kim: choose one of the numbers 3, 4."),
        (["Robin", "--days", "0"], "0 days cannot be planned: choose 1 to 120"),
        (["Robin", "--from", "2020-01-01"], "2020-01-01 is past: plans are for"),
    ],
)
def test_a_bad_call_is_one_sentence(studio: Path, arguments: list[str], message: str) -> None:
    """A student, a number of days or a day that cannot be is named."""
    error = run(*arguments, "--studio", studio).exception
    assert isinstance(error, CounterpaneError)
    assert str(error).startswith(message)


def test_a_studio_that_does_not_exist_is_named(tmp_path: Path) -> None:
    """No file is made by looking."""
    error = run("Robin", "--studio", tmp_path / "none.db").exception
    assert isinstance(error, CounterpaneError)
    assert not (tmp_path / "none.db").exists()
