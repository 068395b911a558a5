"""Links for students and parents: made, listed, revoked. The address is shown once and kept nowhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import Literal, cast

import segno

from counterpane.errors import CounterpaneError
from counterpane.store import audit, links, people
from counterpane.store.database import Db
from counterpane.studio.access import Asker
from counterpane.studio.cards import person_card
from counterpane.studio.house import Studio
from counterpane.studio.pages.people import LinkCard, NewLink
from counterpane.studio.secrets import digest, hash_pin, new_token
from counterpane.studio.sign_in import pin_state


@dataclass(frozen=True)
class WantedLink:
    """For whom a link is wanted: the student, a known parent (`parent_id`) or a new one.

    `pin` sets the PIN at once (for a demo or a family's own choice); otherwise the first device chooses it.
    """

    student_id: int
    role: Literal["student", "parent"]
    parent_id: int | None = None
    parent_nickname: str | None = None
    pin_required: bool = True
    pin: str | None = None


def create_link(studio: Studio, asker: Asker | None, wanted: WantedLink, base: str, now: datetime) -> NewLink:
    """Make a link under the address `base` (scheme and host) and return it with its QR picture."""
    token = new_token()
    pin_hash = hash_pin(wanted.pin) if wanted.pin else None
    with studio.store.write() as db:
        student = people.student(db, wanted.student_id)
        person_id = student.person.id if wanted.role == "student" else _parent(db, wanted, student, now)
        link_id = links.add(db, person_id, digest(token), wanted.pin_required, now)
        if pin_hash:
            links.set_pin(db, link_id, pin_hash)
        by = asker.person.id if asker else None
        audit.record(db, by, "made a link", f"{wanted.role} link of student {student.person.id}", now)
        card = _card(db, links.link(db, link_id))
    # The token stands behind the #, so that it reaches no server log and no other site.
    url = f"{base}/sign-in#{token}"
    return NewLink(card, url, qr_svg(url))


def links_of(studio: Studio, student_id: int) -> tuple[LinkCard, ...]:
    """Return the links of a student and of the student's parents, oldest first."""
    with studio.store.read() as db:
        persons = (people.student(db, student_id).person, *people.parents_of(db, student_id))
        return tuple(_card(db, link) for person in persons for link in links.links_of(db, person.id))


def revoke_link(studio: Studio, asker: Asker, link_id: int, now: datetime) -> None:
    """Revoke a link and sign out whoever came in by it."""
    with studio.store.write() as db:
        link = links.link(db, link_id)
        links.revoke(db, link_id, now)
        audit.record(db, asker.person.id, "revoked a link", f"link {link_id} of person {link.person_id}", now)


def qr_svg(text: str) -> str:
    """Return a QR picture (ISO/IEC 18004) of a text as SVG without inline styles."""
    picture = BytesIO()
    segno.make(text, error="m", micro=False).save(
        picture, kind="svg", scale=6, border=4, xmldecl=False, svgclass="qr"
    )
    return picture.getvalue().decode().strip()


def _parent(db: Db, wanted: WantedLink, student: people.StudentRow, now: datetime) -> int:
    if wanted.parent_id is not None:
        parent = people.person(db, wanted.parent_id)
        if parent.role != "parent":
            raise CounterpaneError("This person is not a parent: give the number of a parent, or a nickname.")
        parent_id = parent.id
    else:
        nickname = wanted.parent_nickname or f"{student.person.nickname[:30]}’s family"
        parent_id = people.add_person(db, "parent", nickname, student.person.language, now)
    people.add_guardian(db, parent_id, student.person.id)
    return parent_id


def _card(db: Db, link: links.LinkRow) -> LinkCard:
    person = people.person(db, link.person_id)
    level = people.student(db, person.id).level if person.role == "student" else None
    return LinkCard(
        id=link.id,
        role=cast(Literal["student", "parent"], person.role),
        person=person_card(person, level),
        created_at=link.created_at,
        last_used_at=link.last_used_at,
        pin=pin_state(link),
        revoked=link.revoked,
    )
