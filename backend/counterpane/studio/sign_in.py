"""Signing in: the teacher by passphrase, students and parents by a link, and a PIN on further devices.

A link that asks for a PIN opens freely on the first device; the PIN is chosen there, and every further device has
to know it. Five wrong PINs in a row lock the link for a quarter of an hour, and twice as long each further time.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from counterpane.errors import CounterpaneError, NotAllowed
from counterpane.store import links, people, sessions
from counterpane.store.database import Db
from counterpane.studio.access import Asker
from counterpane.studio.cards import person_card
from counterpane.studio.house import Studio
from counterpane.studio.pages.people import PersonCard, PinState, SessionPage
from counterpane.studio.secrets import csrf_of, digest, hash_pin, matches, new_token

SESSION_LASTS = timedelta(days=180)
TRIES_BEFORE_LOCK = 5
FIRST_LOCK = timedelta(minutes=15)
LONGEST_LOCK = timedelta(days=1)


class SignInRefused(NotAllowed):
    """The passphrase or the link does not open this studio."""


class PinNeeded(NotAllowed):
    """The link is right, and a PIN is asked on this device."""


class PinWrong(NotAllowed):
    """The link is right, and the PIN is not."""


class TriedTooOften(NotAllowed):
    """The link is locked for a while after wrong PINs."""


@dataclass(frozen=True)
class SignedIn:
    """A fresh session: the token for the cookie, and the page."""

    token: str
    page: SessionPage


def by_passphrase(studio: Studio, passphrase: str, now: datetime) -> SignedIn:
    """Sign the teacher in; raises `SignInRefused`."""
    with studio.store.read() as db:
        kept = people.studio(db).passphrase_hash
    if not matches(kept, passphrase):
        raise SignInRefused("This is not the teacher's passphrase: try again.")
    with studio.store.write() as db:
        return _start(db, people.teacher(db).id, None, now)


def by_link(studio: Studio, token: str, pin: str | None, now: datetime, here: int | None = None) -> SignedIn:
    """Sign a student or a parent in; `here` is the link by which this device is signed in already.

    Raises `SignInRefused`, `PinNeeded`, `PinWrong` or `TriedTooOften`.
    """
    with studio.store.read() as db:
        link = links.by_token(db, digest(token))
    if link is None:
        raise SignInRefused("This link opens nothing: it was mistyped or revoked; ask your teacher for a new one.")
    if link.pin_required and link.last_used_at is not None and link.id != here:
        _check_pin(studio, link, pin, now)
    with studio.store.write() as db:
        links.used(db, link.id, now)
        return _start(db, link.person_id, link.id, now)


def asker_of(studio: Studio, token: str, now: datetime) -> Asker | None:
    """Return who holds a session's token, None when the session has ended."""
    session_digest = digest(token)
    with studio.store.read() as db:
        session = sessions.by_token(db, session_digest, now)
        return _asker(db, session, session_digest, token) if session else None


def session_page(studio: Studio, asker: Asker) -> SessionPage:
    """Return what the page has to know about the signed-in person."""
    with studio.store.read() as db:
        return _page(db, asker)


def sign_out(studio: Studio, asker: Asker) -> None:
    """End the session of this device."""
    with studio.store.write() as db:
        sessions.end(db, asker.session)


def choose_pin(studio: Studio, asker: Asker, pin: str, current: str | None, now: datetime) -> None:
    """Choose or change the PIN of the link by which this person came in; raises `PinNeeded` or `PinWrong`."""
    if asker.link_id is None:
        raise CounterpaneError("The teacher signs in with the passphrase: there is no PIN to choose.")
    with studio.store.read() as db:
        link = links.link(db, asker.link_id)
    if link.pin_hash is not None:
        _check_pin(studio, link, current, now)
    pin_hash = hash_pin(pin)
    with studio.store.write() as db:
        links.set_pin(db, link.id, pin_hash)


def care_seen(studio: Studio, asker: Asker, now: datetime) -> None:
    """Remember that the cautions were shown to this person."""
    with studio.store.write() as db:
        people.see_care(db, asker.person.id, now)


def pin_state(link: links.LinkRow) -> PinState:
    """Return whether a link asks for a PIN on further devices, and whether one was chosen."""
    if not link.pin_required:
        return "not_asked"
    return "set" if link.pin_hash else "unset"


def _check_pin(studio: Studio, link: links.LinkRow, pin: str | None, now: datetime) -> None:
    if link.pin_hash is None:
        raise SignInRefused(
            "This link is in use on another device: choose a PIN there first, or ask your teacher for a new link."
        )
    if link.locked_until is not None and link.locked_until > now:
        minutes = int((link.locked_until - now).total_seconds() // 60) + 1
        raise TriedTooOften(f"Too many wrong PINs: wait {minutes} minutes, then try again.")
    if pin is None:
        raise PinNeeded("Type the PIN that was chosen on the first device.")
    if not matches(link.pin_hash, pin):
        with studio.store.write() as db:
            # Counted from the row as it is now: guesses that come side by side must not count as one.
            failed = links.link(db, link.id).failed_pins + 1
            links.pin_failed(db, link.id, _locked_until(failed, now))
        raise PinWrong("This is not the PIN: try again.")


def _locked_until(failed: int, now: datetime) -> datetime | None:
    """Return until when `failed` wrong PINs in a row lock a link."""
    times, rest = divmod(failed, TRIES_BEFORE_LOCK)
    return None if rest else now + min(LONGEST_LOCK, FIRST_LOCK * 2 ** min(times - 1, 10))


def _start(db: Db, person_id: int, link_id: int | None, now: datetime) -> SignedIn:
    token = new_token()
    sessions.start(db, digest(token), person_id, link_id, now, now + SESSION_LASTS)
    asker = _asker(db, sessions.SessionRow(person_id, link_id), digest(token), token)
    return SignedIn(token, _page(db, asker))


def _asker(db: Db, session: sessions.SessionRow, session_digest: str, token: str) -> Asker:
    person = people.person(db, session.person_id)
    card = _card(db, person)
    return Asker(
        person=card,
        students=_students(db, card),
        session=session_digest,
        csrf=csrf_of(token),
        link_id=session.link_id,
        pin=pin_state(links.link(db, session.link_id)) if session.link_id is not None else "not_asked",
        care_seen=person.care_seen,
    )


def _card(db: Db, person: people.PersonRow) -> PersonCard:
    if person.role == "student":
        return person_card(person, people.student(db, person.id).level)
    return person_card(person, None)


def _students(db: Db, card: PersonCard) -> tuple[PersonCard, ...]:
    if card.role == "student":
        return (card,)
    children = people.children_of(db, card.id) if card.role == "parent" else ()
    return tuple(person_card(child.person, child.level) for child in children)


def _page(db: Db, asker: Asker) -> SessionPage:
    return SessionPage(
        person=asker.person,
        csrf=asker.csrf,
        care_seen=asker.care_seen,
        pin=asker.pin,
        studio_name=people.studio(db).name,
        students=asker.students,
    )
