"""A real studio over real HTTP: a teacher, two families, three pieces, and people who are signed in."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from flask_openapi3.openapi import OpenAPI
from werkzeug.test import TestResponse

from counterpane.studio import links, people, pieces
from counterpane.studio.house import Studio, create_studio
from counterpane.web.app import create_app

PASSPHRASE = "a lantern on the ferry"  # noqa: S105 - a test's own
NOW = datetime(2026, 3, 2, 16, 0, tzinfo=UTC)
PIECES = Path(__file__).parents[2] / "demo" / "pieces"
FILES = {"short": "two-lanterns", "middle": "the-ferry-bell", "long": "patchwork-in-d-minor"}


@dataclass
class Clock:
    """The instant that the application sees; a test moves it."""

    now: datetime = NOW

    def __call__(self) -> datetime:
        return self.now

    def move(self, **by: float) -> None:
        self.now += timedelta(**by)


@dataclass
class Seed:
    """Ids and links of the people and pieces in the studio."""

    robin: int = 0
    alex: int = 0
    short: int = 0
    middle: int = 0
    long: int = 0
    tokens: dict[str, str] = field(default_factory=dict)


@dataclass
class Person:
    """Somebody with a browser: signed in, with the page's token on every write."""

    client: FlaskClient
    session: dict[str, Any] = field(default_factory=dict)

    def get(self, address: str, **options: Any) -> TestResponse:
        return self.client.get(f"/api{address}", **options)

    def write(self, method: str, address: str, body: object = None, **options: Any) -> TestResponse:
        headers = {"X-Csrf": self.session.get("csrf", "")} | options.pop("headers", {})
        return self.client.open(f"/api{address}", method=method, json=body, headers=headers, **options)

    def post(self, address: str, body: object = None, **options: Any) -> TestResponse:
        return self.write("POST", address, body, **options)

    def put(self, address: str, body: object) -> TestResponse:
        return self.write("PUT", address, body)

    def sign_in(self, kind: str, **body: object) -> Person:
        answer = self.client.post(f"/api/session/{kind}", json=body)
        assert answer.status_code == 201, answer.text
        self.session = answer.get_json()
        return self


@dataclass
class People:
    """Opens a browser for somebody."""

    app: OpenAPI
    seed: Seed

    def stranger(self) -> Person:
        return Person(self.app.test_client())

    def teacher(self) -> Person:
        return self.stranger().sign_in("passphrase", passphrase=PASSPHRASE)

    def student(self, name: str = "robin") -> Person:
        return self.stranger().sign_in("link", token=self.seed.tokens[name])

    def parent(self, of: str = "robin") -> Person:
        return self.stranger().sign_in("link", token=self.seed.tokens[f"{of}'s parent"])

    def role(self, name: str) -> Person:
        """Return "stranger", "student" (Robin), "parent" (of Robin) or "teacher"."""
        return {
            "stranger": self.stranger,
            "student": self.student,
            "parent": self.parent,
            "teacher": self.teacher,
        }[name]()


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Seed]:
    """Make a studio file once; it is copied for every test."""
    path = tmp_path_factory.mktemp("studio") / "studio.db"
    studio = create_studio(path, "Studio am Fluss", PASSPHRASE, NOW)
    seed = Seed()
    for name in FILES:
        file = PIECES / f"{FILES[name]}.musicxml"
        setattr(seed, name, pieces.import_piece(studio, file.read_bytes(), file.name, NOW).id)
    for name, piece in (("robin", seed.short), ("alex", seed.middle)):
        student = people.add_student(studio, None, people.NewStudent(name.title(), level="early"), NOW).id
        setattr(seed, name, student)
        people.assign(studio, None, student, (people.Assigned(piece),), NOW)
        for wanted, key in (
            (links.WantedLink(student, "student", pin_required=False), name),
            (links.WantedLink(student, "parent", pin_required=False), f"{name}'s parent"),
        ):
            seed.tokens[key] = links.create_link(studio, None, wanted, "https://x", NOW).url.partition("#")[2]
    studio.close()
    return path, seed


@pytest.fixture
def seed(furnished: tuple[Path, Seed]) -> Seed:
    return furnished[1]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def built_page(tmp_path: Path) -> Path:
    """Make a built page in small: shell, hashed script, service worker, manifest."""
    folder = tmp_path / "page"
    (folder / "assets").mkdir(parents=True)
    (folder / "index.html").write_text("<!doctype html><title>Counterpane</title>" + "<p>shell</p>" * 200)
    (folder / "assets" / "index-4f2a9c.js").write_text("export const a = 1;\n" * 100)
    (folder / "sw.js").write_text("self.addEventListener('fetch', () => {});\n")
    (folder / "manifest.webmanifest").write_text("{}")
    return folder


@pytest.fixture
def app(furnished: tuple[Path, Seed], tmp_path: Path, clock: Clock, built_page: Path) -> Iterator[OpenAPI]:
    path = tmp_path / "studio.db"
    shutil.copy(furnished[0], path)
    made = create_app(path, clock=clock, page_from=built_page)
    yield made
    made.extensions["counterpane"].close()


@pytest.fixture
def studio(app: OpenAPI) -> Studio:
    found = app.extensions["counterpane"]
    assert isinstance(found, Studio)
    return found


@pytest.fixture
def persons(app: OpenAPI, seed: Seed) -> People:
    return People(app, seed)
