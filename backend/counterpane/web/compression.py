"""Compresses JSON answers on the way out, except the one that carries the page's token."""

from __future__ import annotations

import gzip

from flask import Flask, Response, request

_SMALLEST = 1400
_NEVER = "/api/session"


def compress_answers(app: Flask) -> None:
    """Compress JSON answers of `app` for browsers that take gzip."""
    app.after_request(_compress)


def _compress(response: Response) -> Response:
    """Compress an answer worth it.

    The answer with the CSRF token is left alone: length of compressed secrets beside chosen text tells them.
    """
    if response.mimetype != "application/json" or request.path.startswith(_NEVER):
        return response
    response.vary.add("Accept-Encoding")
    if (
        not request.accept_encodings["gzip"]
        or response.direct_passthrough
        or "Content-Encoding" in response.headers
    ):
        return response
    body = response.get_data()
    if len(body) >= _SMALLEST:
        response.set_data(gzip.compress(body, 5, mtime=0))
        response.headers["Content-Encoding"] = "gzip"
    return response
