"""Signing in and out."""

from __future__ import annotations

from flask import Response

from counterpane.studio import sign_in
from counterpane.web.asking import (
    EVERYONE,
    answer,
    asker,
    done,
    now,
    open_to,
    room,
    signed_in_by,
    studio,
)
from counterpane.web.cookies import drop_cookie, set_cookie
from counterpane.web.limits import few_failures
from counterpane.web.shapes.bodies import Session
from counterpane.web.shapes.requests import LinkSignInBody, PassphraseBody, PinBody

api = room("sessions")


@api.get("/session", responses={200: Session})
@open_to(*EVERYONE)
def who_am_i() -> Response:
    """Return the signed-in person and the token for writes."""
    return answer(Session, sign_in.session_page(studio(), asker()))


@api.post("/session/passphrase", responses={201: Session})
@open_to()
def by_passphrase(body: PassphraseBody) -> Response:
    """Sign the teacher in."""
    with few_failures("passphrase"):
        signed_in = sign_in.by_passphrase(studio(), body.passphrase, now())
    return set_cookie(answer(Session, signed_in.page, 201), signed_in.token)


@api.post("/session/link", responses={201: Session})
@open_to()
def by_link(body: LinkSignInBody) -> Response:
    """Sign a student or a parent in by their link."""
    with few_failures("link"):
        signed_in = sign_in.by_link(studio(), body.token, body.pin, now(), here=signed_in_by())
    return set_cookie(answer(Session, signed_in.page, 201), signed_in.token)


@api.delete("/session", responses={204: None})
@open_to(*EVERYONE)
def sign_out() -> Response:
    """Sign out on this device."""
    sign_in.sign_out(studio(), asker())
    return drop_cookie(done())


@api.post("/session/pin", responses={204: None})
@open_to("student", "parent")
def choose_pin(body: PinBody) -> Response:
    """Choose or change the PIN that a further device will be asked for."""
    with few_failures("pin"):
        sign_in.choose_pin(studio(), asker(), body.pin, body.current_pin, now())
    return done()


@api.post("/session/care-seen", responses={204: None})
@open_to(*EVERYONE)
def care_seen() -> Response:
    """Remember that the cautions were shown."""
    sign_in.care_seen(studio(), asker(), now())
    return done()
