"""Every refusal as one JSON sentence with the right status."""

from __future__ import annotations

import logging

from flask import Flask, Response, jsonify, request
from pydantic import ValidationError
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from counterpane.errors import (
    Conflict,
    CounterpaneError,
    NotAllowed,
    NotFound,
    StoreError,
)
from counterpane.studio.sign_in import PinNeeded, PinWrong, SignInRefused, TriedTooOften
from counterpane.web.asking import NotSignedIn
from counterpane.web.limits import TooLarge, TooMany
from counterpane.web.protection import ForgedWrite

# The first class that fits decides: status, and a code for the page where it must tell cases apart.
_STATUSES: tuple[tuple[type[CounterpaneError], int, str | None], ...] = (
    (NotSignedIn, 401, "sign_in"),
    (PinNeeded, 401, "pin_needed"),
    (PinWrong, 401, "pin_wrong"),
    (SignInRefused, 401, "refused"),
    (TriedTooOften, 429, None),
    (TooMany, 429, None),
    (TooLarge, 413, None),
    (ForgedWrite, 403, "csrf"),
    (NotAllowed, 403, None),
    (NotFound, 404, None),
    (Conflict, 409, None),
    (StoreError, 500, None),
    (CounterpaneError, 422, None),
)
_SENTENCES = {
    400: "The request could not be read: send JSON as the API's document says.",
    404: "There is nothing at this address.",
    405: "This address does not take that method.",
    413: "The file or message is too large: scores may have 10 MB, everything else 3 MB.",
    415: "Send JSON with the header Content-Type: application/json.",
}


def answer_problems(app: Flask) -> None:
    """Register the handlers on `app`."""
    app.register_error_handler(CounterpaneError, _deliberate)
    app.register_error_handler(HTTPException, _of_http)
    app.register_error_handler(Exception, _unforeseen)


def _problem(sentence: str, status: int, code: str | None = None) -> Response:
    response = jsonify(error=sentence, code=code)
    response.status_code = status
    return response


def _deliberate(error: CounterpaneError) -> Response:
    status, code = next((status, code) for kind, status, code in _STATUSES if isinstance(error, kind))
    return _problem(_as_sentence(error), status, code)


def _as_sentence(error: CounterpaneError) -> str:
    """Return an error's message as a sentence; one that begins with a file's name keeps it as it is written."""
    text = str(error)
    text = text if error.file else text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _of_http(error: HTTPException) -> Response:
    if isinstance(error.response, Response):
        return error.response
    status = error.code or 500
    response = _problem(_SENTENCES.get(status, error.description or error.name), status)
    if isinstance(error, MethodNotAllowed) and error.valid_methods:
        response.headers["Allow"] = ", ".join(sorted(error.valid_methods))
    return response


def _unforeseen(error: Exception) -> Response:
    logging.getLogger("counterpane").exception("%s %s failed", request.method, request.path, exc_info=error)
    return _problem("Something went wrong here, and nothing was changed: try again.", 500)


def invalid_body(error: ValidationError) -> Response:
    """Answer a request that does not fit its model: the first fault, where it is and what is wanted."""
    first = error.errors(include_url=False, include_input=False, include_context=False)[0]
    where = ", ".join(f"item {part + 1}" if isinstance(part, int) else str(part) for part in first["loc"])
    message = first["msg"][0].lower() + first["msg"][1:]
    return _problem(f"{where}: {message}." if where else f"The request: {message}.", 422)
