"""The built page is served to anybody, and holds nobody's data."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest
from flask_openapi3.openapi import OpenAPI

from counterpane.web.app import create_app
from tests.web.conftest import People, Seed


@pytest.mark.parametrize("address", ["/", "/today", "/quilt/3", "/sign-in", "/students/2/brief"])
def test_an_address_of_the_page_gets_the_shell(persons: People, address: str) -> None:
    """The page finds its own way by the address; the server gives the same shell for each."""
    answer = persons.stranger().client.get(address)
    assert answer.status_code == 200
    assert "<title>Counterpane</title>" in answer.text
    assert answer.headers["Cache-Control"] == "no-cache"


def test_hashed_files_are_kept_and_others_are_asked_for_again(persons: People) -> None:
    client = persons.stranger().client
    assert client.get("/assets/index-4f2a9c.js").headers["Cache-Control"] == "public, max-age=31536000, immutable"
    for name in ("sw.js", "index.html", "manifest.webmanifest"):
        assert client.get(f"/{name}").headers["Cache-Control"] == "no-cache"


def test_the_service_worker_may_look_after_the_whole_site(persons: People) -> None:
    answer = persons.stranger().client.get("/sw.js")
    assert answer.headers["Service-Worker-Allowed"] == "/"
    assert answer.mimetype == "text/javascript"
    assert persons.stranger().client.get("/manifest.webmanifest").mimetype == "application/manifest+json"


def test_an_unchanged_file_costs_one_short_exchange(persons: People) -> None:
    client = persons.stranger().client
    first = client.get("/")
    again = client.get("/", headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_a_changed_file_is_new_at_once(persons: People, built_page: Path) -> None:
    """After a new build nobody gets the old shell."""
    client = persons.stranger().client
    client.get("/")
    (built_page / "index.html").write_text("<!doctype html><title>Newer</title>")
    assert "Newer" in client.get("/").text


def test_text_travels_compressed(persons: People, built_page: Path) -> None:
    """With gzip, and what the build compressed better is taken as it is."""
    client = persons.stranger().client
    script = built_page / "assets" / "index-4f2a9c.js"
    answer = client.get("/assets/index-4f2a9c.js", headers={"Accept-Encoding": "gzip"})
    assert answer.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(answer.data) == script.read_bytes()
    assert "Content-Encoding" not in client.get("/assets/index-4f2a9c.js").headers
    beside = script.with_name(script.name + ".br")
    beside.write_bytes(b"as the build made it")
    script.write_text(script.read_text() + "\n")
    better = client.get("/assets/index-4f2a9c.js", headers={"Accept-Encoding": "gzip, br"})
    assert (better.headers["Content-Encoding"], better.data) == ("br", b"as the build made it")


def test_json_travels_compressed_except_where_a_secret_is_in_it(persons: People, seed: Seed) -> None:
    teacher = persons.teacher()
    wants = {"Accept-Encoding": "gzip"}
    analysis = teacher.get(f"/pieces/{seed.long}/analysis", headers=wants)
    assert analysis.headers["Content-Encoding"] == "gzip"
    assert b'"statements"' in gzip.decompress(analysis.data)
    assert "Content-Encoding" not in teacher.get("/session", headers=wants).headers


def test_the_analysis_is_sent_again_only_when_it_changed(persons: People, seed: Seed) -> None:
    teacher = persons.teacher()
    address = f"/pieces/{seed.short}/analysis"
    first = teacher.get(address)
    assert teacher.get(address, headers={"If-None-Match": first.headers["ETag"]}).status_code == 304
    section = first.get_json()["sections"][0]
    renamed = [{"kind": "rename_section", "first_measure": section["first_measure"], "label": "Opening"}]
    assert teacher.put(f"/pieces/{seed.short}/corrections", renamed).status_code == 200
    changed = teacher.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert changed.status_code == 200
    assert changed.get_json()["sections"][0]["label"] == "Opening"


@pytest.mark.parametrize(
    "address",
    ["/assets/none.js", "/../studio.db", "/%2e%2e/studio.db", "/assets/..%2f..%2fstudio.db", "/api", "/api/no"],
)
def test_nothing_beside_the_page_is_served(persons: People, address: str) -> None:
    """No file outside the folder of the page, whatever the address says; the API answers for itself."""
    answer = persons.stranger().client.get(address)
    assert b"SQLite" not in answer.data
    assert answer.status_code == 404 or "<title>Counterpane</title>" in answer.text


def test_without_a_built_page_the_api_still_answers(
    app: OpenAPI, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("counterpane.web.app._built_page", lambda: None)
    bare = create_app(tmp_path / "studio.db").test_client()
    assert bare.get("/").status_code == 503
    assert "python3 demo --build-only" in bare.get("/").text
    assert bare.get("/api/health").get_json()["ok"] is True
