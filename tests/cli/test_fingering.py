"""`counterpane fingering SCORE`: a proposal that can be edited."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from counterpane.cli.fingering import command
from counterpane.errors import CounterpaneError

SCORE = Path(__file__).parents[2] / "demo" / "pieces" / "two-lanterns.musicxml"


def run(*arguments: str) -> Result:
    return CliRunner().invoke(command, [str(SCORE), *arguments])


def test_each_note_has_a_finger() -> None:
    """Both hands, fingers 1 to 5, with their places; changes of position are notes of that hand."""
    found = json.loads(run().output)
    assert set(found) == {"right", "left"}
    for hand in found.values():
        assert {each["finger"] for each in hand["fingers"]} <= {1, 2, 3, 4, 5}
        assert hand["fingers"][0]["measure"] >= 1
        assert set(hand["position_changes"]) <= {each["note"] for each in hand["fingers"]}


def test_a_given_finger_stays() -> None:
    """What the teacher wants for the first note is kept."""
    first = json.loads(run().output)["right"]["fingers"][0]
    other = 5 if first["finger"] != 5 else 4
    edited = json.loads(run("--fix", f"{first['note']}={other}").output)["right"]["fingers"][0]
    assert edited == {**first, "finger": other}


@pytest.mark.parametrize(
    ("fix", "message"),
    [
        ("n1=9", "right hand: finger 9 for note 'n1' does not exist: choose 1 to 5"),
        ("x99=3", "two-lanterns.musicxml has no note x99"),
        ("n1", "--fix n1 cannot be read: write a note and a finger"),
    ],
)
def test_a_bad_finger_is_one_sentence(fix: str, message: str) -> None:
    """A finger or note that does not exist is named."""
    error = run("--fix", fix).exception
    assert isinstance(error, CounterpaneError)
    assert str(error).startswith(message)
