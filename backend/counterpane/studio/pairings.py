"""Pairing a page with the computer at the piano, by six digits that are read off the page and typed there.

A code can be claimed once, within ten minutes, and gives a secret for sending; only the page of the person who
opened the pairing hears it. A pairing ends when that person opens another one, ends it, or after twelve hours.
"""

from __future__ import annotations

import hmac
from datetime import datetime, timedelta

from counterpane.errors import CounterpaneError, NotAllowed, NotFound
from counterpane.store import pairings
from counterpane.store.database import Db
from counterpane.store.packing import RawEvent
from counterpane.studio.access import Asker
from counterpane.studio.house import Studio
from counterpane.studio.live_keys import Listener
from counterpane.studio.secrets import digest, new_code, new_token

MINUTES_TO_CLAIM = 10
_LASTS = timedelta(hours=12)
_CODES_TRIED = 50


def start(studio: Studio, asker: Asker, now: datetime) -> str:
    """Open a pairing for this person and return its code."""
    with studio.store.write() as db:
        pairings.end_older(db, now - _LASTS, now)
        code = _free_code(db)
        pairings.start(db, code, asker.person.id, now)
    return code


def claim(studio: Studio, code: str, now: datetime) -> str:
    """Claim a pairing and return the secret for sending; raises `NotFound` when the code opens nothing now."""
    secret = new_token()
    with studio.store.write() as db:
        pairing = pairings.by_code(db, code)
        late = pairing is not None and now - pairing.created_at > timedelta(minutes=MINUTES_TO_CLAIM)
        if pairing is None or pairing.secret_hash is not None or late:
            raise NotFound("This code opens no pairing: make a new one on the page and type it again.")
        pairings.claim(db, pairing.id, digest(secret), now)
    studio.live.paired(pairing.id)
    return secret


def send(studio: Studio, code: str, secret: str, events: tuple[RawEvent, ...]) -> int:
    """Hand key events from the piano to the page; returns how many."""
    with studio.store.read() as db:
        pairing = _open_pairing(db, code)
    if pairing.secret_hash is None or not hmac.compare_digest(pairing.secret_hash, digest(secret)):
        raise NotAllowed("This pairing belongs to another computer: pair again with a new code.")
    studio.live.send(pairing.id, events)
    return len(events)


def listen(studio: Studio, asker: Asker, code: str) -> Listener:
    """Return the stream of key events for the page that opened the pairing."""
    with studio.store.read() as db:
        pairing = _own(_open_pairing(db, code), asker)
    return studio.live.listen(pairing.id, claimed=pairing.secret_hash is not None)


def end(studio: Studio, asker: Asker, code: str, now: datetime) -> None:
    """End a pairing; the stream ends with it."""
    with studio.store.write() as db:
        pairing = _own(_open_pairing(db, code), asker)
        pairings.end(db, pairing.id, now)
    studio.live.end(pairing.id)


def _free_code(db: Db) -> str:
    for _ in range(_CODES_TRIED):
        code = new_code()
        if pairings.by_code(db, code) is None:
            return code
    raise CounterpaneError("Too many pairings are open: wait a few minutes, then try again.")


def _open_pairing(db: Db, code: str) -> pairings.PairingRow:
    pairing = pairings.by_code(db, code)
    if pairing is None:
        raise NotFound("This pairing has ended: make a new one on the page.")
    return pairing


def _own(pairing: pairings.PairingRow, asker: Asker) -> pairings.PairingRow:
    if pairing.person_id != asker.person.id:
        raise NotAllowed("This pairing was opened by somebody else: make your own.")
    return pairing
