"""`counterpane listen` against a real HTTP server and a scripted piano."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from urllib.error import URLError

import pytest
from click.testing import CliRunner

from counterpane.cli.listen import BATCH, Pairing, command, relay
from counterpane.errors import PerformanceError
from tests.listening.scripted import ScriptedSource


class _Server(HTTPServer):
    """Answers as the studio does; `failures` requests get a 503 first, an unknown code a 404."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.received: list[list[float]] = []
        self.batches: list[int] = []
        self.failures = 0

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_port}"


class _Handler(BaseHTTPRequestHandler):
    server: _Server

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        if "/ABC123/" not in self.path:
            return self._answer(404, {"error": "no such pairing"})
        if self.path.endswith("/claim"):
            return self._answer(201, {"secret": "s3cret"})
        if self.server.failures:
            self.server.failures -= 1
            return self._answer(503, {"error": "busy"})
        if self.headers["X-Pairing-Secret"] != "s3cret":
            return self._answer(403, {"error": "not claimed"})
        events = json.loads(body)["events"]
        self.server.received += events
        self.server.batches.append(len(events))
        return self._answer(200, {"received": len(events)})

    def _answer(self, status: int, body: dict[str, object]) -> None:
        self.send_response(status)
        self.end_headers()
        self.wfile.write(json.dumps(body).encode())

    def log_message(self, *_: object) -> None:
        """Keep quiet."""


@pytest.fixture
def server() -> Iterator[_Server]:
    running = _Server()
    thread = threading.Thread(target=running.serve_forever, daemon=True)
    thread.start()
    yield running
    running.shutdown()
    running.server_close()
    thread.join()


def claimed(server: _Server) -> Pairing:
    pairing = Pairing(server.address + "/", " ABC123 ")
    pairing.claim()
    return pairing


EVENTS = [(float(n), 0x90 if n % 2 == 0 else 0x80, 60, 64) for n in range(20)]


def test_everything_played_arrives_in_order(server: _Server) -> None:
    """Batches as they were read, with the times of the source."""
    relay(ScriptedSource([EVENTS[:7], [], EVENTS[7:]]), claimed(server), pytest.fail)
    assert server.received == [list(event) for event in EVENTS]


def test_nothing_is_lost_while_the_server_is_away(server: _Server) -> None:
    """Failures are tried again after a growing pause, and said once."""
    server.failures = 3
    said: list[str] = []
    pauses: list[float] = []
    relay(ScriptedSource([EVENTS[:5], EVENTS[5:9], EVENTS[9:]]), claimed(server), said.append, pauses.append)
    assert server.received == [list(event) for event in EVENTS]
    assert pauses == [1.0, 2.0, 4.0]
    assert [sentence.split(";")[0] for sentence in said] == [
        "The server does not answer (answer 503)",
        "Connected again.",
    ]


def test_a_long_wait_is_sent_in_batches_that_the_server_takes(server: _Server) -> None:
    """What piled up goes out in pieces of at most `BATCH` events."""
    pairing = claimed(server)
    pairing.waiting = [(float(n), 0x90, 60, 1) for n in range(BATCH + 5)]
    pairing.send()
    assert server.batches == [BATCH, 5]
    assert pairing.waiting == []


def test_a_code_that_is_not_waiting_is_said(server: _Server) -> None:
    """An old code: one sentence that says where a new one is."""
    with pytest.raises(PerformanceError, match="'XYZ' is not waiting"):
        Pairing(server.address, "XYZ").claim()


def test_a_server_that_is_not_there_is_said() -> None:
    """Nothing listens at the address: no traceback."""
    pairing = Pairing("http://127.0.0.1:9", "ABC123")
    with pytest.raises(PerformanceError, match="check --server"):
        pairing.claim()
    pairing.waiting = list(EVENTS)
    with pytest.raises(URLError):
        pairing.send()
    assert pairing.waiting == EVENTS


@pytest.mark.parametrize("address", ["ftp://host", "file:///etc", "192.168.1.20"])
def test_only_web_addresses_are_servers(address: str) -> None:
    """Refused before anything is opened."""
    with pytest.raises(PerformanceError, match="no server's address"):
        Pairing(address, "ABC123")


def test_the_command_asks_for_what_the_page_shows() -> None:
    """Without address and code there is one sentence."""
    result = CliRunner().invoke(command, [])
    assert isinstance(result.exception, PerformanceError)
    assert "--server and --code" in result.exception.message
