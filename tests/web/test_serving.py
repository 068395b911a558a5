"""A real server process on a real port: signing in, playing through a pairing, being killed."""

from __future__ import annotations

import http.client
import json
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from counterpane.cli.listen import Pairing
from counterpane.errors import CounterpaneError
from counterpane.store.database import open_store
from counterpane.studio.live_keys import MOST_STREAMS
from counterpane.web.serving import PortTaken, address, free_port, listen
from tests.web.conftest import PASSPHRASE, Seed
from tests.web.server_process import PATIENCE_S, Browser, served


@pytest.fixture
def path(furnished: tuple[Path, Seed], tmp_path: Path) -> Path:
    target = tmp_path / "studio.db"
    shutil.copy(furnished[0], target)
    return target


def test_keys_reach_the_page_through_a_pairing(path: Path, seed: Seed) -> None:
    """A student opens a pairing, the computer at the piano claims it by its code, keys arrive in order."""
    with served(path) as server:
        student = server.browser().sign_in("link", token=seed.tokens["robin"])
        _, opened = student.ask("POST", "/pairings")
        page = server.browser(student)
        stream = page.stream(f"/pairings/{opened['code']}/stream")
        piano = server.browser()
        status, claimed = piano.ask("POST", f"/pairings/{opened['code']}/claim")
        assert status == 201
        assert piano.ask("POST", f"/pairings/{opened['code']}/claim")[0] == 404, "a code is claimed once"
        keys = [[float(number * 10), 144, 60 + number, 80] for number in range(8)]
        for number in range(0, 8, 2):
            sent = {"events": keys[number : number + 2]}
            secret = {"X-Pairing-Secret": claimed["secret"]}
            assert piano.ask("POST", f"/pairings/{opened['code']}/events", sent, **secret) == (
                200,
                {"received": 2},
            )
        refused, _ = piano.ask("POST", f"/pairings/{opened['code']}/events", sent, **{"X-Pairing-Secret": "guess"})
        assert refused == 403
        student.ask("DELETE", f"/pairings/{opened['code']}")
        messages = _messages(stream.read().decode())
        assert [kind for kind, _ in messages] == ["paired", "keys", "keys", "keys", "keys", "ended"]
        assert [key for kind, data in messages if kind == "keys" for key in data] == keys
        assert piano.ask("POST", f"/pairings/{opened['code']}/events", sent, **secret)[0] == 404


def test_the_command_at_the_piano_speaks_the_same_language(path: Path, seed: Seed) -> None:
    """`counterpane listen` claims a pairing and sends; every key arrives, in order."""
    with served(path) as server:
        student = server.browser().sign_in("link", token=seed.tokens["robin"])
        _, opened = student.ask("POST", "/pairings")
        stream = server.browser(student).stream(f"/pairings/{opened['code']}/stream")
        piano = Pairing(f"http://127.0.0.1:{server.port}", opened["code"])
        piano.claim()
        for number in range(25):
            piano.waiting.append((float(number), 144, 60, 80))
            piano.send()
        student.ask("DELETE", f"/pairings/{opened['code']}")
        keys = [key for kind, data in _messages(stream.read().decode()) if kind == "keys" for key in data]
        assert [key[0] for key in keys] == [float(number) for number in range(25)]


def test_nobody_else_hears_a_pairing(path: Path, seed: Seed) -> None:
    with served(path) as server:
        robin = server.browser().sign_in("link", token=seed.tokens["robin"])
        alex = server.browser().sign_in("link", token=seed.tokens["alex"])
        _, opened = robin.ask("POST", "/pairings")
        assert alex.ask("GET", f"/pairings/{opened['code']}/stream")[0] == 403
        assert alex.ask("DELETE", f"/pairings/{opened['code']}")[0] == 403


def test_pages_that_listen_do_not_starve_the_others(path: Path, seed: Seed) -> None:
    """With every place for a listening page taken, an ordinary request is still answered at once."""
    with served(path) as server:
        student = server.browser().sign_in("link", token=seed.tokens["robin"])
        _, opened = student.ask("POST", "/pairings")
        streams = []
        for _ in range(MOST_STREAMS):
            page = server.browser(student)
            streams.append((page, page.stream(f"/pairings/{opened['code']}/stream")))
        assert student.ask("GET", f"/pairings/{opened['code']}/stream")[0] == 422, "one more is refused"
        assert student.ask("GET", "/today")[0] == 200
        student.ask("DELETE", f"/pairings/{opened['code']}")
        assert all("ended" in stream.read().decode() for _, stream in streams)
        _, again = student.ask("POST", "/pairings")
        page = server.browser(student)
        assert page.stream(f"/pairings/{again['code']}/stream").status == 200, "the places are free again"
        student.ask("DELETE", f"/pairings/{again['code']}")


def test_a_killed_server_keeps_what_it_acknowledged(path: Path, seed: Seed) -> None:
    """Students send attempts while the server is killed without warning; every acknowledged one is there."""
    with served(path) as server:
        acknowledged: list[str] = []
        senders = [
            threading.Thread(target=_send_until_gone, args=(server.browser(), seed, name, acknowledged))
            for name in ("robin", "alex")
        ]
        for sender in senders:
            sender.start()
        deadline = time.monotonic() + PATIENCE_S
        while len(acknowledged) < 12 and time.monotonic() < deadline:
            time.sleep(0.01)
        server.process.kill()
        for sender in senders:
            sender.join(PATIENCE_S)
    store = open_store(path)
    with store.read() as db:
        kept = {row[0] for row in db.execute("SELECT client_id FROM attempt")}
        unheard = db.execute("SELECT count(*) FROM attempt WHERE id NOT IN (SELECT attempt_id FROM assessment)")
        assert unheard.fetchone()[0] == 0
    store.close()
    assert len(acknowledged) >= 12
    assert set(acknowledged) <= kept


def _send_until_gone(browser: Browser, seed: Seed, name: str, acknowledged: list[str]) -> None:
    browser.sign_in("link", token=seed.tokens[name])
    piece = {"robin": seed.short, "alex": seed.middle}[name]
    keys = [
        [float(number * 200 + late), status, 60 + number, 80]
        for number in range(8)
        for status, late in ((144, 0), (128, 150))
    ]
    for number in range(10_000):
        client_id = f"{name}-{number:06d}"
        body = {
            "client_id": client_id,
            "piece_id": piece,
            "patch_id": "p1",
            "step_id": "right-slow",
            "passage": {"first_measure": 1, "last_measure": 2, "hands": "right", "tempo": 60},
            "started_at": "2026-03-02T17:00:00+01:00",
            "source": "web-midi",
            "raw_events": keys,
        }
        try:
            status, _ = browser.ask("POST", "/attempts", body)
        except (OSError, http.client.HTTPException):
            return
        if status == 201:
            acknowledged.append(client_id)


def test_a_taken_port_is_said_or_passed_over(path: Path) -> None:
    """Without --next-port one sentence and exit 2; with it the next port, and that is said."""
    with listen("127.0.0.1", 0, next_port=False) as held:
        port = held.getsockname()[1]
        command = [sys.executable, "-m", "counterpane", "serve", "--studio", str(path), "--port", str(port)]
        refused = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S, check=False)
        assert refused.returncode == 2
        assert refused.stderr == (
            f"Port {port} is taken by another program: choose another with --port, or add --next-port.\n"
        )
        assert free_port("127.0.0.1", port) != port
        with pytest.raises(PortTaken):
            listen("127.0.0.1", port, next_port=False)


def test_an_address_that_is_not_ours_is_one_sentence() -> None:
    with pytest.raises(CounterpaneError, match="check --host"):
        listen("203.0.113.7", 0, next_port=False)


def test_a_second_server_for_one_studio_is_refused(path: Path) -> None:
    """One process writes a studio file; a second one would be a second writer."""
    with served(path):
        command = [sys.executable, "-m", "counterpane", "serve", "--studio", str(path), "--port", "0"]
        second = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE_S, check=False)
    assert second.returncode == 2
    assert "being served by another process" in second.stderr


def test_the_address_is_one_to_type() -> None:
    assert address("127.0.0.1", 8000) == "http://127.0.0.1:8000/"
    assert address("::", 8000) == "http://127.0.0.1:8000/"
    assert address("::1", 80) == "http://[::1]:80/"


def test_the_teacher_signs_in_at_a_real_server(path: Path) -> None:
    with served(path) as server:
        teacher = server.browser().sign_in("passphrase", passphrase=PASSPHRASE)
        status, students = teacher.ask("GET", "/students")
        assert (status, [one["nickname"] for one in students]) == (200, ["Alex", "Robin"])


def _messages(text: str) -> list[tuple[str, Any]]:
    """Read server-sent events (HTML standard, section 9.2): an event line, a data line, an empty line."""
    found = []
    for block in text.split("\n\n"):
        lines = dict(line.split(": ", 1) for line in block.splitlines() if not line.startswith(":"))
        if lines:
            found.append((lines["event"], json.loads(lines["data"])))
    return found
