"""What every request passes and every answer carries: sign-in, CSRF, rate limit, security headers.

A write is taken only with the session's own token in `X-Csrf` and only from this site. The content security
policy allows nothing but the page's own files; engraved SVG carries no style element (see studio/pieces.py), so
that no inline style is needed either.
"""

from __future__ import annotations

import hmac
import re
from typing import cast

from flask import Flask, Response, current_app, g, request
from werkzeug.exceptions import UnsupportedMediaType

from counterpane.errors import NotAllowed
from counterpane.studio import sign_in
from counterpane.web.asking import now, studio
from counterpane.web.cookies import session_token
from counterpane.web.limits import SlidingWindow, TooMany

# Signing in needs no token: whoever comes from another site is refused by the other two checks.
WITHOUT_TOKEN = frozenset({"/api/session/passphrase", "/api/session/link"})
# A piano sends every few milliseconds; the pairing's secret, not the number of messages, says who may.
LIVE_KEYS = re.compile(r"/api/pairings/\d{6}/events")
UPLOAD = "/api/pieces"
WRITES = frozenset({"POST", "PUT", "PATCH", "DELETE"})
CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "media-src 'self' blob:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Permissions-Policy": "midi=(self), screen-wake-lock=(self), microphone=(), camera=(), geolocation=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


class ForgedWrite(NotAllowed):
    """A write that did not come from the page of the person who is signed in."""


def protect(app: Flask) -> None:
    """Let every request of `app` pass the checks and every answer carry the headers."""
    app.before_request(_limit_rate)
    app.before_request(_find_asker)
    app.before_request(_refuse_forged_writes)
    app.before_request(_refuse_other_bodies)
    app.after_request(_add_headers)


def _limit_rate() -> None:
    if not request.path.startswith("/api/") or LIVE_KEYS.fullmatch(request.path):
        return
    window = cast(SlidingWindow, current_app.extensions["requests"])
    if not window.allows(session_token() or f"stranger {request.remote_addr}"):
        raise TooMany("Too many requests in a minute: wait a little, then try again.")


def _find_asker() -> None:
    token = session_token()
    if token and request.path.startswith("/api/"):
        g.asker = sign_in.asker_of(studio(), token, now())


def _refuse_forged_writes() -> None:
    if request.method not in WRITES:
        return
    if request.headers.get("Sec-Fetch-Site", "same-origin") not in {"same-origin", "none"}:
        raise ForgedWrite("This came from another site: open the page itself and try again.")
    if g.get("asker") is None or request.path in WITHOUT_TOKEN:
        return
    given = request.headers.get("X-Csrf", "")
    if not hmac.compare_digest(given.encode(), g.asker.csrf.encode()):
        raise ForgedWrite("This write lacks the page's token: load the page again and try once more.")


def _refuse_other_bodies() -> None:
    """Take nothing but JSON, which no form of another site can send; a score file comes as it is."""
    if request.method not in WRITES or not request.content_length or request.path == UPLOAD:
        return
    if request.mimetype != "application/json":
        raise UnsupportedMediaType
    request.get_json()


def _add_headers(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.is_secure:
        response.headers.setdefault("Strict-Transport-Security", "max-age=31536000")
    if request.path.startswith("/api/"):
        response.headers.setdefault("Cache-Control", "private, no-store")
        response.vary.add("Cookie")
    return response
