"""Rows of the studio file as the cards that pages show."""

from __future__ import annotations

from typing import cast

from counterpane.model.practice import Level
from counterpane.store.people import PersonRow
from counterpane.store.pieces import PieceRow
from counterpane.studio.pages.people import Language, PersonCard, Role
from counterpane.studio.pages.pieces import PieceCard


def person_card(person: PersonRow, level: str | None) -> PersonCard:
    """Return a person as pages name them; the file's own checks hold role and level to their words."""
    return PersonCard(
        id=person.id,
        nickname=person.nickname,
        role=cast(Role, person.role),
        level=cast("Level | None", level),
        language=cast(Language, person.language),
    )


def piece_card(row: PieceRow, key: str) -> PieceCard:
    """Return a piece as lists show it; `key` is the analysis' answer."""
    return PieceCard(
        id=row.id,
        title=row.title,
        composer=row.composer,
        key=key,
        meter=row.meter,
        measures=row.measures,
        tempo=row.tempo,
        hands_guessed=row.hands_guessed,
        warnings=row.warnings,
        added_at=row.added_at,
    )
