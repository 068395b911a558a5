"""Who asks, and what a view answers with: the small pieces every route is made of."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any, ParamSpec, cast

from flask import Response, current_app, g
from flask_openapi3.blueprint import APIBlueprint
from pydantic import BaseModel, RootModel

from counterpane.errors import NotAllowed
from counterpane.studio import access
from counterpane.studio.access import Asker
from counterpane.studio.house import Studio
from counterpane.studio.pages.people import Role
from counterpane.web.shapes.bodies import Problem

P = ParamSpec("P")
EVERYONE: tuple[Role, ...] = ("student", "parent", "teacher")
PROBLEMS: dict[str | int, type[BaseModel] | dict[Any, Any] | None] = dict.fromkeys(
    (400, 401, 403, 404, 409, 413, 415, 422, 429), Problem
)


def room(name: str) -> APIBlueprint:
    """Return a blueprint under /api whose every route declares the error statuses."""
    return APIBlueprint(name, __name__, url_prefix="/api", abp_responses=dict(PROBLEMS))


def open_to(*roles: Role) -> Callable[[Callable[P, Response]], Callable[P, Response]]:
    """Let only signed-in people of these roles through; no role means that a stranger may ask.

    The rule is kept on the view as `open_to`, so that a test can hold every route against its table.
    """

    def wrap(view: Callable[P, Response]) -> Callable[P, Response]:
        @wraps(view)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> Response:
            if roles and asker().person.role not in roles:
                raise NotAllowed("This page is not for you: sign in as somebody who may see it.")
            return view(*args, **kwargs)

        guarded.open_to = roles  # type: ignore[attr-defined]  # read by the test of the access table
        return guarded

    return wrap


def asker() -> Asker:
    """Return who asks; raises `NotSignedIn` when nobody is signed in."""
    found: Asker | None = g.get("asker")
    if found is None:
        raise NotSignedIn
    return found


class NotSignedIn(NotAllowed):
    """Nobody is signed in, and this needs somebody to be."""

    def __init__(self) -> None:
        super().__init__("Sign in first: open your link, or type the teacher's passphrase.")


def signed_in_by() -> int | None:
    """Return the link by which this device is signed in, if it is."""
    found: Asker | None = g.get("asker")
    return found.link_id if found else None


def whom(asked: int | None) -> int:
    """Return the student that a request is about; raises where the asker may not ask about them."""
    return access.whom(studio().store, asker(), asked)


def own_piece(piece_id: int) -> int:
    """Return the id of a piece; raises where the asker may not see it."""
    access.require_piece(studio().store, asker(), piece_id)
    return piece_id


def studio() -> Studio:
    """Return the studio this application serves."""
    return cast(Studio, current_app.extensions["counterpane"])


def now() -> datetime:
    """Return the instant of this request in the studio's own zone, whose days are the days of the log."""
    clock: Callable[[], datetime] = current_app.config["CLOCK"]
    return clock()


def answer(body: type[RootModel[Any]], page: object, status: int = 200) -> Response:
    """Answer with a page of studio/ as JSON in the shape that the OpenAPI document promises."""
    text = body.model_construct(root=page).model_dump_json()
    return Response(text, status=status, mimetype="application/json")


def done() -> Response:
    """Answer that something was done and there is nothing to say."""
    return Response(status=204)
