"""Whether the studio answers."""

from __future__ import annotations

from flask import Response, jsonify

from counterpane import __version__
from counterpane.web.asking import open_to, room, studio
from counterpane.web.shapes.bodies import Health

api = room("health")


@api.get("/health", responses={200: Health})
@open_to()
def health() -> Response:
    """Say that the studio answers; tells a stranger nothing about anybody."""
    return jsonify(ok=True, version=__version__, schema_version=studio().store.schema_version())
