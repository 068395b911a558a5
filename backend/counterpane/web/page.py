"""Serves the built page: its shell holds nobody's data, so that a stranger may load it.

Files under assets/ carry a hash in their names and are kept for a year; everything else is asked for again
each time. Text is compressed once and kept: a file beside it with .br or .gz at the end is taken as it is.
"""

from __future__ import annotations

import gzip
import mimetypes
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from flask import Blueprint, Response, abort, request

_TEXT = ("text/", "application/javascript", "application/json", "application/manifest", "image/svg")
SHELL = "index.html"
_YEAR = "public, max-age=31536000, immutable"
_ENDINGS = {".webmanifest": "application/manifest+json", ".js": "text/javascript", ".mjs": "text/javascript"}
NO_PAGE = "The page has not been built: build it with `python3 demo --build-only`; the API answers all the same."


@dataclass(frozen=True)
class PageFile:
    """A file of the built page in each encoding there is, with its entity tag."""

    mimetype: str
    etag: str
    encoded: dict[str, bytes]


def page(folder: Path | None) -> Blueprint:
    """Return the blueprint that serves `folder`; None answers that the page has not been built."""
    blueprint = Blueprint("page", __name__)

    @blueprint.get("/")
    @blueprint.get("/<path:name>")
    def file(name: str = SHELL) -> Response:
        if folder is None:
            return Response(NO_PAGE, status=503, mimetype="text/plain")
        found = _locate(folder, name)
        if found is None:
            abort(404)
        response = _respond(_load(found, found.stat().st_mtime_ns))
        hashed = found.parent == folder.resolve() / "assets"
        response.headers["Cache-Control"] = _YEAR if hashed else "no-cache"
        if found.name == "sw.js":
            response.headers["Service-Worker-Allowed"] = "/"
        return response

    return blueprint


def _locate(folder: Path, name: str) -> Path | None:
    """Return the file for an address: the file itself, or the shell for an address of the page's own."""
    root = folder.resolve()
    wanted = (root / name).resolve()
    if name.startswith("api/") or not wanted.is_relative_to(root):
        return None
    if wanted.is_file():
        return wanted
    shell = root / SHELL
    return shell if not wanted.suffix and shell.is_file() else None


@lru_cache(maxsize=256)
def _load(path: Path, _changed: int) -> PageFile:
    plain = path.read_bytes()
    mimetype = _ENDINGS.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    encoded = {"identity": plain}
    for encoding, ending in (("br", ".br"), ("gzip", ".gz")):
        beside = path.with_name(path.name + ending)
        if beside.is_file():
            encoded[encoding] = beside.read_bytes()
    if mimetype.startswith(_TEXT) and len(plain) > 800:
        encoded.setdefault("gzip", gzip.compress(plain, 9, mtime=0))
    return PageFile(mimetype, sha256(plain).hexdigest()[:32], encoded)


def _respond(file: PageFile) -> Response:
    encoding = next((e for e in ("br", "gzip") if e in file.encoded and request.accept_encodings[e]), "identity")
    response = Response(file.encoded[encoding], mimetype=file.mimetype)
    if encoding != "identity":
        response.headers["Content-Encoding"] = encoding
    response.vary.add("Accept-Encoding")
    response.set_etag(f"{file.etag}-{encoding}")
    response.make_conditional(request)
    return response
