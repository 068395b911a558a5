"""The demo studio is played, heard and logged by the code that serves real students."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from counterpane.model.practice import Passage
from counterpane.score import read_score
from counterpane.studio.brief import brief
from counterpane.studio.house import Studio, open_studio
from counterpane.studio.log import log
from counterpane.studio.people import students_for
from counterpane.studio.quilt import quilt
from counterpane.studio.sign_in import asker_of, by_passphrase
from counterpane.studio.today import today
from demo.people import DEMO_STUDENTS
from demo.simulation import Faults, simulate
from demo.studio import PASSPHRASE, PIECES, between, seed, stumble

_NOW = datetime(2026, 3, 18, 15, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def ways(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    path = tmp_path_factory.mktemp("demo") / "studio.sqlite"
    return path, seed(path, _NOW, weeks=1)


@pytest.fixture
def studio(ways: tuple[Path, dict[str, str]]) -> Iterator[Studio]:
    opened = open_studio(ways[0])
    yield opened
    opened.close()


def test_everyone_has_a_way_in(ways: tuple[Path, dict[str, str]]) -> None:
    """Three students, a grown-up for each, and the teacher."""
    assert len(ways[1]) == 2 * len(DEMO_STUDENTS) + 1
    assert ways[1]["Teacher"] == "/sign-in"
    assert all(way.startswith("/sign-in") for way in ways[1].values())


def test_every_student_has_practised_and_has_something_to_do_today(studio: Studio) -> None:
    """The log holds minutes, the quilt holds work, and today is not empty unless it is a day of rest."""
    asker = asker_of(studio, by_passphrase(studio, PASSPHRASE, _NOW).token, _NOW)
    assert asker is not None
    for card in students_for(studio, asker, _NOW):
        weeks = log(studio, card.id, 2, _NOW).weeks
        assert sum(day.minutes for week in weeks for day in week.days) > 0, card.nickname
        page = today(studio, card.id, _NOW.date())
        assert page.items or page.rest_day, card.nickname
        states = {
            patch.both if patch.both != "new" else patch.right
            for section in quilt(studio, card.id, card.pieces[0], _NOW.date()).sections
            for patch in section.patches
        }
        assert states - {"new"}, card.nickname


def test_the_lesson_brief_names_the_measure_that_a_student_stumbles_over(studio: Studio) -> None:
    """The trouble that was played into the sessions is what the teacher reads."""
    asker = asker_of(studio, by_passphrase(studio, PASSPHRASE, _NOW).token, _NOW)
    assert asker is not None
    card = next(found for found in students_for(studio, asker, _NOW) if found.nickname == "Wren")
    measure, hand = next(who for who in DEMO_STUDENTS if who.nickname == "Wren").trouble["two-lanterns"]
    spots = brief(studio, card.id, _NOW).weak_spots
    assert (measure, hand) in {(spot.measure, spot.hand) for spot in spots}


def test_a_stumble_moves_one_written_note_and_leaves_the_rest() -> None:
    """The second note of the measure is struck a semitone too high, pressed and let go alike."""
    piece = read_score(PIECES / "two-lanterns.musicxml").piece
    session = simulate(piece, Passage(4, 4, "right", 60.0), 1, Faults())
    changed = [
        (was[2], now[2])
        for was, now in zip(session.raw, stumble(piece, session, 4, "right"), strict=True)
        if was != now
    ]
    assert changed == [(77, 78), (77, 78)]


def test_faults_between_two_are_a_share_of_the_way() -> None:
    """Half-way between never and always is half of the time."""
    assert between(Faults(wrong=0.0), Faults(wrong=0.2), 0.5).wrong == pytest.approx(0.1)
