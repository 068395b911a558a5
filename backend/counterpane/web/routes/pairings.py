"""A computer at the piano sends key events to a page without Web MIDI, paired by a short code."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from flask import Response, jsonify, request, stream_with_context
from pydantic import BaseModel

from counterpane.studio import pairings as pairing
from counterpane.web.asking import asker, done, now, open_to, room, studio
from counterpane.web.limits import few_failures
from counterpane.web.shapes.bodies import ClaimedPairing, NewPairing, Received
from counterpane.web.shapes.requests import PairingEventsBody, PairingPath

api = room("pairings")
_STREAM: dict[str | int, type[BaseModel] | dict[Any, Any] | None] = {
    200: {"description": "Key events", "content": {"text/event-stream": {"schema": {"type": "string"}}}}
}


@api.post("/pairings", responses={201: NewPairing})
@open_to("student", "teacher")
def start() -> Response:
    """Open a pairing and return its code, which is typed at the computer by the piano."""
    code = pairing.start(studio(), asker(), now())
    response = jsonify(code=code, minutes=pairing.MINUTES_TO_CLAIM)
    response.status_code = 201
    return response


@api.post("/pairings/<string:code>/claim", responses={201: ClaimedPairing})
@open_to()
def claim(path: PairingPath) -> Response:
    """Claim a pairing from the computer by the piano; works once, and gives the secret for sending."""
    with few_failures("pairing"):
        secret = pairing.claim(studio(), path.code, now())
    response = jsonify(secret=secret)
    response.status_code = 201
    return response


@api.post("/pairings/<string:code>/events", responses={200: Received})
@open_to()
def send(path: PairingPath, body: PairingEventsBody) -> Response:
    """Send key events; the header `X-Pairing-Secret` proves that the sender claimed the pairing."""
    secret = request.headers.get("X-Pairing-Secret", "")
    with few_failures("piano"):
        received = pairing.send(studio(), path.code, secret, tuple(body.events))
    return jsonify(received=received)


@api.get("/pairings/<string:code>/stream", responses=_STREAM)
@open_to("student", "teacher")
def stream(path: PairingPath) -> Response:
    """Stream key events to the page that opened the pairing, as server-sent events.

    `event: paired` once the computer has claimed it, `event: keys` with a JSON list of
    [time_ms, status, data1, data2], a comment line every 15 s, `event: ended` at the end.
    """
    listener = pairing.listen(studio(), asker(), path.code)

    def lines() -> Iterator[str]:
        # The status line travels with the first line, so that one must not wait for a key.
        yield ": listening\n\n"
        for kind, data in listener:
            yield f"event: {kind}\ndata: {data}\n\n" if kind else ": still here\n\n"

    response = Response(stream_with_context(lines()), mimetype="text/event-stream")
    response.call_on_close(listener.close)
    response.headers["Cache-Control"] = "no-store"
    response.headers["X-Accel-Buffering"] = "no"
    return response


@api.delete("/pairings/<string:code>", responses={204: None})
@open_to("student", "teacher")
def end(path: PairingPath) -> Response:
    """End a pairing."""
    pairing.end(studio(), asker(), path.code, now())
    return done()
