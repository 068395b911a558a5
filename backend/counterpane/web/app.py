"""The application: one studio file, the API, the page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from flask_openapi3.models.info import Info
from flask_openapi3.openapi import OpenAPI
from werkzeug.middleware.proxy_fix import ProxyFix

from counterpane import __version__
from counterpane.errors import CounterpaneError
from counterpane.resources import page_folder
from counterpane.studio.house import Studio, open_studio
from counterpane.web.compression import compress_answers
from counterpane.web.limits import (
    JSON_BYTES,
    MOST_REQUESTS,
    MOST_TRIES,
    REQUEST_WINDOW_S,
    TRY_WINDOW_S,
    SlidingWindow,
)
from counterpane.web.page import page
from counterpane.web.problems import answer_problems, invalid_body
from counterpane.web.protection import protect
from counterpane.web.routes import BLUEPRINTS
from counterpane.web.shapes.bodies import Problem


def create_app(
    studio_path: Path | str,
    *,
    clock: Callable[[], datetime] | None = None,
    page_from: Path | None = None,
    behind_proxy: bool = False,
    requests_a_minute: int = MOST_REQUESTS,
) -> OpenAPI:
    """Return the application for the studio file at `studio_path`, which must exist.

    `clock` gives the instant of a request, with its zone (the system's otherwise); `page_from` is the folder
    of the built page (found by itself otherwise); `behind_proxy` trusts one proxy's X-Forwarded headers.
    """
    studio = open_studio(Path(studio_path))
    return _assemble(studio, clock, page_from or _built_page(), behind_proxy, requests_a_minute)


def _assemble(
    studio: Studio | None,
    clock: Callable[[], datetime] | None,
    page_from: Path | None,
    behind_proxy: bool,
    requests_a_minute: int,
) -> OpenAPI:
    app = OpenAPI(
        __name__,
        info=Info(title="Counterpane", version=__version__),
        security_schemes={},
        doc_prefix="/api/openapi",
        doc_ui=True,
        validation_error_model=Problem,
        validation_error_callback=invalid_body,
        static_folder=None,
    )
    app.config.update(
        CLOCK=clock or (lambda: datetime.now().astimezone()),
        MAX_CONTENT_LENGTH=JSON_BYTES,
        TRAP_HTTP_EXCEPTIONS=False,
    )
    app.extensions["counterpane"] = studio
    app.extensions["page"] = page_from
    app.extensions["tries"] = SlidingWindow(MOST_TRIES, TRY_WINDOW_S)
    app.extensions["requests"] = SlidingWindow(requests_a_minute, REQUEST_WINDOW_S)
    protect(app)
    compress_answers(app)
    answer_problems(app)
    for blueprint in BLUEPRINTS:
        app.register_api(blueprint)
    app.register_blueprint(page(page_from))
    if behind_proxy:
        app.wsgi_app = ProxyFix(app.wsgi_app)  # type: ignore[method-assign]  # Flask documents this very line
    return app


def openapi_document() -> dict[str, object]:
    """Return the OpenAPI document; needs neither a studio nor a page."""
    document: dict[str, object] = _assemble(None, None, None, False, MOST_REQUESTS).api_doc
    return document


def _built_page() -> Path | None:
    try:
        return page_folder()
    except CounterpaneError:
        return None
