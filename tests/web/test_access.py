"""Who may do what: one table over every route, and it is complete."""

from __future__ import annotations

import re
from typing import Any

import pytest

from counterpane.studio.house import Studio
from tests.web.conftest import People, Person, Seed
from tests.web.test_main_job import attempt

EVERYBODY = "stranger student parent teacher"
SIGNED_IN = "student parent teacher"
# Method, address (with Robin's ids), who may ask, and a body where one is needed. "{own}" is Robin.
TABLE: tuple[tuple[str, str, str, object], ...] = (
    ("GET", "/health", EVERYBODY, None),
    ("GET", "/session", SIGNED_IN, None),
    ("POST", "/session/passphrase", EVERYBODY, {"passphrase": "a lantern on the ferry"}),
    ("POST", "/session/link", EVERYBODY, {"token": "{token}"}),
    ("POST", "/session/care-seen", SIGNED_IN, None),
    ("POST", "/session/pin", "student parent", {"pin": "1234"}),
    ("GET", "/today?student={own}", SIGNED_IN, None),
    ("GET", "/students", "parent teacher", None),
    ("POST", "/students", "teacher", {"nickname": "Sam"}),
    ("GET", "/students/{own}", SIGNED_IN, None),
    ("PATCH", "/students/{own}", "teacher", {"minutes": 25}),
    ("GET", "/students/{own}/assignments", SIGNED_IN, None),
    ("PUT", "/students/{own}/assignments", "teacher", [{"piece_id": 1}]),
    ("GET", "/students/{own}/plan", SIGNED_IN, None),
    ("GET", "/students/{own}/log", SIGNED_IN, None),
    ("GET", "/students/{own}/brief", "teacher", None),
    ("GET", "/students/{own}/links", "teacher", None),
    ("POST", "/students/{own}/links", "teacher", {"role": "student"}),
    ("DELETE", "/links/1", "teacher", None),
    ("GET", "/students/{own}/export", "parent teacher", None),
    ("POST", "/students/{own}/erase", "parent teacher", {"nickname": "not Robin's, so nobody is erased here"}),
    ("GET", "/audit", "teacher", None),
    ("GET", "/pieces", SIGNED_IN, None),
    ("POST", "/pieces?name=a.musicxml", "teacher", None),
    ("GET", "/pieces/1", SIGNED_IN, None),
    ("DELETE", "/pieces/3", "teacher", None),
    ("GET", "/pieces/1/analysis", SIGNED_IN, None),
    ("GET", "/pieces/1/engraving", SIGNED_IN, None),
    ("GET", "/pieces/1/sheet", SIGNED_IN, None),
    ("GET", "/pieces/1/fingering", SIGNED_IN, None),
    ("PUT", "/pieces/1/fingering", "teacher", {"fingers": {}}),
    ("GET", "/pieces/1/corrections", "teacher", None),
    ("PUT", "/pieces/1/corrections", "teacher", []),
    ("GET", "/pieces/1/quilt?student={own}", SIGNED_IN, None),
    ("GET", "/pieces/1/drills/p1?student={own}", SIGNED_IN, None),
    ("GET", "/pieces/1/puzzles?student={own}", SIGNED_IN, None),
    ("GET", "/pieces/1/decisions?student={own}", SIGNED_IN, None),
    ("PUT", "/pieces/1/decisions?student={own}", "student teacher", {"decisions": []}),
    ("GET", "/pieces/1/attempts?student={own}", SIGNED_IN, None),
    ("POST", "/attempts", "student", "attempt"),
    ("GET", "/attempts/1", SIGNED_IN, None),
    (
        "POST",
        "/puzzle-answers",
        "student",
        {"client_id": "answer-0001", "piece_id": 1, "puzzle_id": "count-entries-A1", "answer": 1},
    ),
    ("POST", "/pairings", "student teacher", None),
    ("POST", "/pairings/000000/claim", EVERYBODY, None),
    ("POST", "/pairings/000000/events", EVERYBODY, {"events": [[0, 144, 60, 80]]}),
    ("GET", "/pairings/000000/stream", "student teacher", None),
    ("DELETE", "/pairings/000000", "student teacher", None),
    ("DELETE", "/session", SIGNED_IN, None),
)
OF_A_PIECE = ("analysis", "engraving", "sheet", "fingering", "quilt", "drills/p1", "puzzles", "decisions")
ABOUT_A_STUDENT = [row for row in TABLE if "{own}" in row[1]]


def ask(person: Person, row: tuple[str, str, str, object], seed: Seed, studio: Studio, own: int) -> Any:
    method, address, _, body = row
    if body == "attempt":
        body = attempt(studio, seed, "attempt-0009")
    if isinstance(body, dict) and body.get("token") == "{token}":
        body = {"token": seed.tokens["robin"]}
    return person.write(method, address.format(own=own), body)


@pytest.mark.parametrize("role", EVERYBODY.split())
def test_each_role_may_do_what_the_table_says(role: str, persons: People, seed: Seed, studio: Studio) -> None:
    """A stranger is asked to sign in, a role without the right is refused, and nobody else is."""
    persons.student().post("/attempts", attempt(studio, seed, "attempt-0001"))
    signed_in = persons.role(role)
    for row in TABLE:
        # Signing in again changes the session, so that those rows get a browser of their own.
        person = persons.role(role) if row[1].startswith("/session/") else signed_in
        status = ask(person, row, seed, studio, seed.robin).status_code
        allowed = role in row[2].split()
        expected = {401} if role == "stranger" and not allowed else {403} if not allowed else None
        assert status in expected if expected else status not in {401, 403, 500}, (role, row, status)


@pytest.mark.parametrize("row", ABOUT_A_STUDENT, ids=lambda row: f"{row[0]} {row[1]}")
def test_no_family_sees_another(
    row: tuple[str, str, str, object], persons: People, seed: Seed, studio: Studio
) -> None:
    """What is about Alex is refused to Robin and Robin's parent, in the same words as what does not exist."""
    for person in (persons.student(), persons.parent()):
        foreign = ask(person, row, seed, studio, seed.alex)
        nobody = ask(person, row, seed, studio, 999)
        assert (foreign.status_code, nobody.status_code) == (403, 403), row
        assert foreign.get_json() == nobody.get_json()


def test_an_attempt_is_seen_by_its_family_alone(persons: People, seed: Seed, studio: Studio) -> None:
    number = persons.student().post("/attempts", attempt(studio, seed, "attempt-0001")).get_json()["attempt"]["id"]
    for name, status in (("robin", 200), ("alex", 403)):
        assert persons.student(name).get(f"/attempts/{number}").status_code == status
        assert persons.parent(name).get(f"/attempts/{number}").status_code == status
        assert persons.student(name).get("/attempts/999").status_code == 403
    assert persons.teacher().get(f"/attempts/{number}").status_code == 200
    assert persons.teacher().get("/attempts/999").status_code == 404


def test_only_assigned_pieces_are_seen(persons: People, seed: Seed, studio: Studio) -> None:
    """Robin works on the short piece alone; the others look to Robin as if they did not exist."""
    robin = persons.student()
    assert [one["id"] for one in robin.get("/pieces").get_json()] == [seed.short]
    for piece in (seed.middle, 999):
        for address in ("", *(f"/{name}" for name in OF_A_PIECE)):
            assert robin.get(f"/pieces/{piece}{address}").status_code == 403
        assert (
            robin.post("/attempts", attempt(studio, seed, "attempt-0001") | {"piece_id": piece}).status_code == 403
        )
    assert len(persons.teacher().get("/pieces").get_json()) == 3
    assert persons.teacher().get("/pieces/999").status_code == 404


def test_what_was_practised_may_still_arrive(persons: People, seed: Seed, studio: Studio) -> None:
    """A try that waited offline is kept although the piece was taken off the list meanwhile."""
    persons.teacher().put(f"/students/{seed.robin}/assignments", [])
    assert persons.student().post("/attempts", attempt(studio, seed, "attempt-0001")).status_code == 201


def test_a_student_sees_three_findings_and_the_teacher_all(persons: People, seed: Seed, studio: Studio) -> None:
    student, teacher = persons.student(), persons.teacher()
    page = student.post("/attempts", attempt(studio, seed, "attempt-0001")).get_json()
    heard = teacher.get(f"/attempts/{page['attempt']['id']}").get_json()["page"]
    assert len(page["findings"]) <= 3
    assert "all_findings" not in page["assessment"]
    assert len(heard["findings"]) == len(heard["assessment"]["all_findings"])


def test_the_table_names_every_route(persons: People) -> None:
    """A new route cannot be forgotten: the table and the application list the same ones."""
    routes = {
        (method, re.sub(r"<[^>]+>", "{}", rule.rule))
        for rule in persons.app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
        if rule.rule.startswith("/api/") and not rule.rule.startswith("/api/openapi")
    }
    named = {(row[0], "/api" + re.sub(r"\{own\}|\b\d+\b|\bp1\b", "{}", row[1].partition("?")[0])) for row in TABLE}
    assert named == routes


def test_every_view_says_whom_it_is_open_to(persons: People) -> None:
    """The rule on each view is the table's row."""
    for method, address, roles, _ in TABLE:
        adapter = persons.app.url_map.bind("x")
        endpoint, _ = adapter.match("/api" + address.format(own=1).partition("?")[0], method)
        view = persons.app.view_functions[endpoint]
        open_to = getattr(getattr(view, "__wrapped__", view), "open_to", None)
        assert set(open_to or EVERYBODY.split()) == set(roles.split()), endpoint
