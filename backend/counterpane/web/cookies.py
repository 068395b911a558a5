"""The session cookie: out of reach of scripts, never sent from another site."""

from __future__ import annotations

from datetime import timedelta

from flask import Response, request

NAME = "counterpane_session"
LIFETIME = timedelta(days=180)


def set_cookie(response: Response, token: str) -> Response:
    """Put the session's token into the answer; `Secure` wherever the page came by https."""
    response.set_cookie(
        NAME,
        token,
        max_age=LIFETIME,
        path="/",
        httponly=True,
        samesite="Strict",
        secure=request.is_secure,
    )
    response.headers["Cache-Control"] = "no-store"
    return response


def drop_cookie(response: Response) -> Response:
    """Take the session's token away."""
    response.delete_cookie(NAME, path="/", httponly=True, samesite="Strict", secure=request.is_secure)
    return response


def session_token() -> str | None:
    """Return the token the browser sent, if any."""
    return request.cookies.get(NAME)
