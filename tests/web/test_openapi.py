"""The API's document: current in the page's folder, true to what is answered, and safe under odd requests."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import schemathesis
from click.testing import CliRunner
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as seeded
from schemathesis import Case
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from counterpane.cli.openapi import command
from counterpane.studio.house import Studio
from counterpane.web.app import openapi_document
from counterpane.web.limits import SlidingWindow
from counterpane.web.shapes import bodies
from tests.web.conftest import People, Person, Seed
from tests.web.test_main_job import attempt

COMMITTED = Path(__file__).parents[2] / "pwa" / "src" / "api" / "openapi.json"
# A stream does not end by itself; erasing and signing out would take the asker away from the other routes.
NOT_TRIED = {"/api/pairings/{code}/stream", "/api/students/{student_id}/erase", "/api/session"}


def test_the_committed_document_is_current() -> None:
    """`counterpane openapi > pwa/src/api/openapi.json` was run after the last change of a shape."""
    assert CliRunner().invoke(command).output == COMMITTED.read_text(encoding="utf-8")


def test_every_route_declares_its_errors() -> None:
    document: Any = openapi_document()
    for address, operations in document["paths"].items():
        for method, operation in operations.items():
            declared = set(operation["responses"])
            assert {"400", "401", "403", "404", "409", "413", "415", "422", "429"} <= declared, (method, address)
            assert operation["summary"], (method, address)


def test_the_reports_have_the_shapes_that_the_document_promises(
    persons: People, seed: Seed, studio: Studio
) -> None:
    """The analysis and an assessment, as they are really made, fit the types from which the page is built."""
    teacher, student = persons.teacher(), persons.student()
    for piece in (seed.short, seed.middle, seed.long):
        report = teacher.get(f"/pieces/{piece}/analysis").get_json()
        assert bodies.Analysed.model_validate(report).model_dump(mode="json") == report
    page = student.post("/attempts", attempt(studio, seed, "attempt-0001")).get_json()
    assert bodies.AttemptResult.model_validate(page).model_dump(mode="json") == page


def test_odd_requests_get_declared_answers(persons: People, seed: Seed, studio: Studio) -> None:
    """Seeded random requests to every route, as the teacher and as a student: never a 500, always as declared."""
    document = json.loads(json.dumps(openapi_document()))
    for limit in ("requests", "tries"):
        persons.app.extensions[limit] = SlidingWindow(100_000, 60.0)
    seen: Counter[int] = Counter()
    codes: set[str | None] = set()
    # The student comes first: the teacher's requests may revoke the link.
    for person in (persons.student(), persons.teacher()):
        schema = schemathesis.openapi.from_dict(document)
        for result in schema.get_all_operations():
            assert isinstance(result, Ok), "every route is described validly"
            operation = result.ok()
            if operation.path not in NOT_TRIED:
                _try_operation(operation.as_strategy(), person, seen, codes)
    assert seen.total() > 400
    assert {200, 201, 204, 403, 404, 422} <= set(seen)
    assert not {429, 500} & set(seen)
    assert not {"sign_in", "csrf"} & codes, "every request came from somebody who is signed in"


def _try_operation(strategy: Any, person: Person, seen: Counter[int], codes: set[str | None]) -> None:
    """Ask one route up to eight times; `seen` counts the statuses, `codes` gathers why it was refused."""
    cookie = person.client.get_cookie("counterpane_session")
    assert cookie is not None

    @seeded(1)
    @settings(
        max_examples=8,
        deadline=None,
        database=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=strategy)
    def check(case: Case[Any]) -> None:
        response = case.call(
            app=person.client.application,
            headers={"X-Csrf": person.session["csrf"], "Accept-Encoding": "identity"},
            cookies={cookie.key: cookie.value},
        )
        seen[response.status_code] += 1
        codes.add(response.json().get("code") if response.status_code in (401, 403) else None)
        case.validate_response(
            response,
            checks=[
                not_a_server_error,
                status_code_conformance,
                content_type_conformance,
                response_schema_conformance,
            ],
        )

    check()
