"""One blueprint a resource; each view checks who asks and calls one use case."""

from __future__ import annotations

from flask_openapi3.blueprint import APIBlueprint

from counterpane.web.routes import (
    attempts,
    family,
    health,
    lessons,
    links,
    pairings,
    pieces,
    practice,
    sessions,
    students,
)

BLUEPRINTS: tuple[APIBlueprint, ...] = (
    health.api,
    sessions.api,
    practice.api,
    pieces.api,
    attempts.api,
    students.api,
    links.api,
    lessons.api,
    pairings.api,
    family.api,
)
