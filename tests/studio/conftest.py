"""A studio with one student and the three original pieces."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from counterpane.studio import people, pieces
from counterpane.studio.house import Studio, create_studio, open_studio

PASSPHRASE = "a lantern on the ferry"  # noqa: S105 - a test's own
NOW = datetime(2026, 3, 2, 16, 0, tzinfo=UTC)
PIECES = Path(__file__).parents[2] / "demo" / "pieces"
SHORT, LONG, STUDENT = 1, 2, 2


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a studio file once; it is copied for every test."""
    path = tmp_path_factory.mktemp("studio") / "studio.db"
    studio = create_studio(path, "Studio am Fluss", PASSPHRASE, NOW)
    for name in ("two-lanterns", "patchwork-in-d-minor"):
        file = PIECES / f"{name}.musicxml"
        pieces.import_piece(studio, file.read_bytes(), file.name, NOW)
    people.add_student(studio, None, people.NewStudent("Robin", level="early"), NOW)
    people.assign(studio, None, STUDENT, (people.Assigned(SHORT),), NOW)
    studio.close()
    return path


@pytest.fixture
def path(furnished: Path, tmp_path: Path) -> Path:
    target = tmp_path / "studio.db"
    shutil.copy(furnished, target)
    return target


@pytest.fixture
def studio(path: Path) -> Iterator[Studio]:
    opened = open_studio(path)
    yield opened
    opened.close()
