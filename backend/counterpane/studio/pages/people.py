"""Who somebody is, whom they look after, and by which links they come in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from counterpane.model.practice import Level

Role = Literal["student", "parent", "teacher"]
Language = Literal["en", "de"]
PinState = Literal["set", "unset", "not_asked"]


@dataclass(frozen=True)
class PersonCard:
    """A person as the page names them; `level` belongs to students alone."""

    id: int
    nickname: str
    role: Role
    level: Level | None
    language: Language


@dataclass(frozen=True)
class SessionPage:
    """Who is signed in, and what the page has to know before it shows anything.

    `csrf` goes into the header `X-Csrf` of every write. `pin` is "unset" when the link asks for a PIN on
    further devices and none has been chosen yet.
    """

    person: PersonCard
    csrf: str
    care_seen: bool
    pin: PinState
    studio_name: str
    students: tuple[PersonCard, ...]


@dataclass(frozen=True)
class StudentCard:
    """A student as the teacher (and a parent, for their own children) sees them.

    `minutes` is what the teacher set for a day; `rest_days` are weekdays from Monday = 0. A lesson is on
    `lesson_date` and again every `lesson_every_weeks` weeks (0: that day alone);
    `next_lesson` is the one to come.
    """

    id: int
    nickname: str
    level: Level
    language: Language
    minutes: int
    rest_days: tuple[int, ...]
    lesson_date: str | None
    lesson_every_weeks: int
    next_lesson: str | None
    note: str
    last_practised: str | None
    minutes_this_week: float
    pieces: tuple[int, ...]


@dataclass(frozen=True)
class LinkCard:
    """A link by which a student or a parent signs in; the token itself is never shown again."""

    id: int
    role: Literal["student", "parent"]
    person: PersonCard
    created_at: str
    last_used_at: str | None
    pin: PinState
    revoked: bool


@dataclass(frozen=True)
class NewLink:
    """A fresh link: its address (shown once), and the same as a QR picture."""

    link: LinkCard
    url: str
    qr_svg: str


@dataclass(frozen=True)
class Assignment:
    """A piece a student works on: all sections, or the named ones, at the goal tempo."""

    piece_id: int
    title: str
    sections: tuple[str, ...]
    goal_tempo: float


@dataclass(frozen=True)
class AuditLine:
    """One thing that was done to people's data: by whom, to whom, when."""

    at: str
    by: str
    action: str
    about: str
