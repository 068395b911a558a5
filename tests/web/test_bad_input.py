"""Bad input is answered with one clear sentence and the right status, and changes nothing."""

from __future__ import annotations

from typing import Any

import pytest

from counterpane.studio.house import Studio
from tests.web.conftest import People, Seed
from tests.web.test_main_job import attempt

TEACHERS: tuple[tuple[str, str, object, int, str], ...] = (
    ("POST", "/students", None, 422, "The request"),
    ("POST", "/students", [], 422, "The request"),
    ("POST", "/students", {}, 422, "nickname"),
    ("POST", "/students", {"nickname": "  "}, 422, "nickname"),
    ("POST", "/students", {"nickname": "x" * 41}, 422, "nickname"),
    ("POST", "/students", {"nickname": "Sam", "surname": "Smith"}, 422, "surname"),
    ("POST", "/students", {"nickname": "Sam", "minutes": 1000}, 422, "minutes"),
    ("POST", "/students", {"nickname": "Sam", "level": "expert"}, 422, "level"),
    ("POST", "/students", {"nickname": "Sam", "rest_days": [7]}, 422, "rest_days, item 1"),
    ("PATCH", "/students/2", {"rest_days": [0, 1, 2, 3, 4, 5, 6]}, 422, "rest_days"),
    ("PATCH", "/students/999", {"minutes": 20}, 404, "no such student"),
    ("PATCH", "/students/99999999999999999999", {"minutes": 20}, 422, "student_id"),
    ("PUT", "/students/2/assignments", [{"piece_id": 999}], 404, "no such piece"),
    ("PUT", "/students/2/assignments", [{"piece_id": 1}, {"piece_id": 1}], 422, "twice"),
    ("PUT", "/students/2/assignments", [{"piece_id": 1, "sections": ["Z9"]}], 422, "no section Z9"),
    ("PUT", "/students/2/assignments", [{"piece_id": 1, "goal_tempo": 1000}], 422, "goal_tempo"),
    ("POST", "/students/2/links", {"role": "teacher"}, 422, "role"),
    ("POST", "/students/2/links", {"role": "parent", "parent_id": 2}, 422, "not a parent"),
    ("DELETE", "/links/999", None, 404, "no such link"),
    ("DELETE", "/pieces/1", None, 409, "the log stays whole"),
    ("DELETE", "/pieces/999", None, 404, "no such piece"),
    ("GET", "/today", None, 422, "which student"),
    ("GET", "/today?student=2&date=2026-02-30", None, 422, "date"),
    ("GET", "/pieces/1/engraving?first=5&last=2", None, 422, "comes before measure 5"),
    ("GET", "/pieces/1/engraving?first=99", None, 422, "no measure 99"),
    ("GET", "/pieces/1/engraving?hands=feet", None, 422, "hands"),
    ("GET", "/pieces/1/engraving?width=1", None, 422, "width"),
    ("GET", "/pieces/1/drills/p99?student=2", None, 404, "no patch p99"),
    ("GET", "/pieces/1/puzzles?student=2&section=Z9", None, 404, "no section Z9"),
    ("PUT", "/pieces/1/decisions?student=2", {"decisions": [{"section": "Z9", "shape": "grow"}]}, 422, "Z9"),
    ("PUT", "/pieces/1/corrections", [{"no": "kind"}], 422, "kind"),
    ("GET", "/students/2/plan?days=1000", None, 422, "days"),
    ("POST", "/pairings/12/claim", None, 422, "code"),
    ("POST", "/pairings/123456/claim", None, 404, "make a new one"),
    ("POST", "/pairings/123456/events", {"events": []}, 422, "events"),
    ("GET", "/nowhere", None, 404, "nothing at this address"),
    ("PUT", "/students", None, 405, "does not take that method"),
)


@pytest.mark.parametrize(
    ("method", "address", "body", "status", "words"), TEACHERS, ids=lambda value: str(value)[:40]
)
def test_one_sentence_and_the_right_status(
    method: str, address: str, body: object, status: int, words: str, persons: People
) -> None:
    answer = persons.teacher().write(method, address, body)
    assert answer.status_code == status, answer.text
    _one_sentence(answer.get_json(), words)


ATTEMPTS: tuple[tuple[dict[str, Any], int, str], ...] = (
    ({"client_id": "x"}, 422, "client_id"),
    ({"started_at": "yesterday"}, 422, "started_at"),
    ({"started_at": "2026-03-02T17:00:00"}, 422, "started_at"),
    ({"source": "tape"}, 422, "source"),
    ({"raw_events": [[0, 144, 60]]}, 422, "raw_events, item 1"),
    ({"raw_events": [[0, 144, 60, 300]]}, 422, "raw_events, item 1"),
    ({"raw_events": [[-1, 144, 60, 30]]}, 422, "raw_events, item 1"),
    ({"passage": {"first_measure": 1, "last_measure": 99, "hands": "right", "tempo": 60}}, 404, "no measure 99"),
    ({"passage": {"first_measure": 2, "last_measure": 1, "hands": "right", "tempo": 60}}, 404, "backwards"),
    ({"passage": {"first_measure": 1, "last_measure": 2, "hands": "feet", "tempo": 60}}, 422, "hands"),
    ({"self_judgement": {"notes": 3, "rhythm": 3, "flow": 3}}, 422, "leave self_judgement out"),
    ({"source": "self-judged"}, 422, "leave raw_events empty"),
    ({"self_judgement": {"notes": 4, "rhythm": 3, "flow": 3}}, 422, "notes"),
    ({"extra": 1}, 422, "extra"),
)


@pytest.mark.parametrize(("changes", "status", "words"), ATTEMPTS, ids=lambda value: str(value)[:40])
def test_a_wrong_attempt_is_not_kept(
    changes: dict[str, Any], status: int, words: str, persons: People, seed: Seed, studio: Studio
) -> None:
    student = persons.student()
    answer = student.post("/attempts", attempt(studio, seed, "attempt-0001") | changes)
    assert answer.status_code == status, answer.text
    _one_sentence(answer.get_json(), words)
    assert student.get(f"/pieces/{seed.short}/attempts").get_json() == []


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (b"", "empty.musicxml"),
        (b"hello", "text.txt"),
        (b"<score-partwise><part>", "cut.musicxml"),
        (b"PK\x03\x04 not a zip", "broken.mxl"),
        (b"MThd\x00\x00", "cut.mid"),
    ],
)
def test_a_file_that_is_no_score_leaves_the_studio_as_it_was(data: bytes, name: str, persons: People) -> None:
    teacher = persons.teacher()
    headers = {"X-Csrf": teacher.session["csrf"]}
    answer = teacher.client.post(f"/api/pieces?name={name}", data=data, headers=headers)
    assert answer.status_code == 422, answer.text
    _one_sentence(answer.get_json(), name)
    assert len(teacher.get("/pieces").get_json()) == 3


def test_too_large_a_body_is_refused(persons: People) -> None:
    """Scores may have 10 MB, everything else 3 MB."""
    teacher = persons.teacher()
    headers = {"X-Csrf": teacher.session["csrf"]}
    note = teacher.client.post(
        "/api/students", data=b"x" * (4 * 1024 * 1024), headers=headers, content_type="application/json"
    )
    score = teacher.client.post("/api/pieces?name=a.mxl", data=b"x" * (11 * 1024 * 1024), headers=headers)
    for answer in (note, score):
        assert answer.status_code == 413
        _one_sentence(answer.get_json(), "10 MB")


def test_json_must_say_that_it_is_json(persons: People) -> None:
    """A form from another site cannot pose as the page's own JSON."""
    teacher = persons.teacher()
    headers = {"X-Csrf": teacher.session["csrf"]}
    plain = teacher.client.post(
        "/api/students", data='{"nickname": "Sam"}', headers=headers, content_type="text/plain"
    )
    broken = teacher.client.post("/api/students", data='{"nick', headers=headers, content_type="application/json")
    assert plain.status_code == 415
    assert broken.status_code == 400
    _one_sentence(plain.get_json(), "application/json")
    _one_sentence(broken.get_json(), "JSON")


def test_a_puzzle_is_answered_in_its_own_way(persons: People, seed: Seed) -> None:
    student = persons.student()
    found = student.get(f"/pieces/{seed.short}/puzzles").get_json()
    for puzzle in found:
        tapped = puzzle["kind"].startswith("tap")
        wrong, wanted = (1, "tapped notes") if tapped else (["n1"], "a number")
        body = {"client_id": "answer-0001", "piece_id": seed.short, "puzzle_id": puzzle["id"], "answer": wrong}
        _one_sentence(student.post("/puzzle-answers", body).get_json(), wanted)
    body = {"client_id": "answer-0001", "piece_id": seed.short, "puzzle_id": "no-such-puzzle", "answer": 1}
    assert student.post("/puzzle-answers", body).status_code == 404


def test_a_fault_of_ours_costs_nobody_an_attempt(
    persons: People, seed: Seed, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When hearing breaks, the attempt is kept without an assessment, to be heard again later."""

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("counterpane.studio.hearing.assess", broken)
    page = persons.student().post("/attempts", attempt(studio, seed, "attempt-0001"))
    assert page.status_code == 201
    assert page.get_json()["assessment"] is None
    assert page.get_json()["next"]["sentence"]


def test_an_unforeseen_fault_is_one_sentence_too(persons: People, monkeypatch: pytest.MonkeyPatch) -> None:
    """No trace of the code reaches the page."""

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("counterpane.web.routes.practice.planning.today", broken)
    answer = persons.student().get("/today")
    assert answer.status_code == 500
    _one_sentence(answer.get_json(), "try again")


def _one_sentence(problem: dict[str, Any], words: str) -> None:
    sentence = problem["error"]
    assert words in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert "Traceback" not in sentence
    assert 15 <= len(sentence) <= 260
