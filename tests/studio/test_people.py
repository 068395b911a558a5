"""Students, links and families, and what the record keeps of it."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from counterpane.errors import Conflict, CounterpaneError, NotFound
from counterpane.studio import family, links, people, pieces
from counterpane.studio.house import Studio, change_passphrase
from counterpane.studio.secrets import SHORTEST_PASSPHRASE, hash_passphrase
from counterpane.studio.sign_in import SignInRefused, asker_of, by_link, by_passphrase
from tests.studio.conftest import NOW, PASSPHRASE, PIECES, STUDENT


def test_a_parent_of_two_sees_both(studio: Studio) -> None:
    """A link for a known parent lets them see a brother or sister as well."""
    other = people.add_student(studio, None, people.NewStudent("Alex"), NOW).id
    first = links.create_link(
        studio, None, links.WantedLink(STUDENT, "parent", pin_required=False), "https://x", NOW
    )
    wanted = links.WantedLink(other, "parent", parent_id=first.link.person.id)
    links.create_link(studio, None, wanted, "https://x", NOW)
    token = by_link(studio, first.url.partition("#")[2], None, NOW).token
    asker = asker_of(studio, token, NOW)
    assert asker is not None
    assert {child.nickname for child in asker.students} == {"Robin", "Alex"}
    assert {child.id for child in people.students_for(studio, asker, NOW)} == {STUDENT, other}


def test_a_link_is_a_picture_too(studio: Studio) -> None:
    """The QR picture is plain SVG without inline style, and the token stands behind the # alone."""
    made = links.create_link(studio, None, links.WantedLink(STUDENT, "student"), "https://studio.example", NOW)
    assert re.fullmatch(r"https://studio\.example/sign-in#[\w-]{43}", made.url)
    assert made.qr_svg.startswith("<svg")
    assert "style=" not in made.qr_svg
    assert "<script" not in made.qr_svg


def test_a_new_passphrase_signs_the_teacher_out(studio: Studio) -> None:
    token = by_passphrase(studio, PASSPHRASE, NOW).token
    change_passphrase(studio, "another lantern, another ferry")
    assert asker_of(studio, token, NOW) is None
    with pytest.raises(SignInRefused):
        by_passphrase(studio, PASSPHRASE, NOW)
    by_passphrase(studio, "another lantern, another ferry", NOW)


def test_passphrases_are_kept_as_argon2id(studio: Studio) -> None:
    """RFC 9106 recommends Argon2id; a short passphrase protects nobody and is refused."""
    assert hash_passphrase(PASSPHRASE).startswith("$argon2id$")
    with pytest.raises(CounterpaneError, match=f"at least {SHORTEST_PASSPHRASE}"):
        hash_passphrase("ferry")


def test_every_day_a_rest_day_is_no_plan(studio: Studio) -> None:
    with pytest.raises(CounterpaneError, match="at least one day"):
        people.change_student(studio, None, STUDENT, {"rest_days": list(range(7))}, NOW)


def test_the_same_file_is_the_same_piece(studio: Studio) -> None:
    file = PIECES / "two-lanterns.musicxml"
    first = pieces.import_piece(studio, file.read_bytes(), file.name, NOW)
    again = pieces.import_piece(studio, file.read_bytes(), "other name.musicxml", NOW + timedelta(days=1))
    assert first == again


def test_erasing_needs_the_name_and_leaves_a_line(studio: Studio) -> None:
    with pytest.raises(Conflict, match="type it exactly"):
        family.erase(studio, None, STUDENT, "robin", NOW)
    assert family.export(studio, None, STUDENT, NOW)["student"]["nickname"] == "Robin"
    family.erase(studio, None, STUDENT, "Robin", NOW)
    with pytest.raises(NotFound):
        people.student_card(studio, STUDENT, NOW)
    lines = [(line.by, line.action, line.about) for line in family.audit(studio)]
    assert lines[:2] == [
        ("the command line", "erased a student", f"student {STUDENT}"),
        ("the command line", "took data away", f"student {STUDENT}"),
    ]
    assert "Robin" not in str(lines)
