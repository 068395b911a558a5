"""`counterpane serve` as a process of its own, and browsers (cookie and token, no page) at it."""

from __future__ import annotations

import http.client
import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

PATIENCE_S = 60.0
"""How long a busy machine may take for anything here; no test is about speed."""


class Browser:
    """One connection with a cookie and the page's token, over the standard library's HTTP client."""

    def __init__(self, port: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)
        self.headers: dict[str, str] = {}

    def ask(self, method: str, path: str, body: object = None, **headers: str) -> tuple[int, Any]:
        sent = self.headers | headers | ({"Content-Type": "application/json"} if body is not None else {})
        text = None if body is None else json.dumps(body)
        self.connection.request(method, f"/api{path}", text, sent)
        answer = self.connection.getresponse()
        data = answer.read()
        if cookie := answer.headers.get("Set-Cookie"):
            self.headers["Cookie"] = cookie.partition(";")[0]
        return answer.status, json.loads(data) if data else None

    def sign_in(self, kind: str, **body: str) -> Browser:
        status, session = self.ask("POST", f"/session/{kind}", body)
        assert status == 201, session
        self.headers["X-Csrf"] = session["csrf"]
        return self

    def stream(self, path: str) -> http.client.HTTPResponse:
        self.connection.request("GET", f"/api{path}", headers=self.headers)
        return self.connection.getresponse()


@dataclass
class Server:
    """A running `counterpane serve`, and the browsers that were opened at it."""

    process: subprocess.Popen[str]
    port: int
    opened: list[Browser] = field(default_factory=list)

    def browser(self, like: Browser | None = None) -> Browser:
        """Return a new browser, or another window of one that is signed in."""
        made = Browser(self.port)
        made.headers = dict(like.headers) if like else {}
        self.opened.append(made)
        return made


@contextmanager
def served(path: Path, *options: str) -> Iterator[Server]:
    """Run `counterpane serve` on a free port until the test is done with it."""
    command = [sys.executable, "-m", "counterpane", "serve", "--studio", str(path), "--port", "0", *options]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
    assert process.stderr is not None
    with process.stderr:
        said = ""
        while "The studio is open at" not in said:
            line = process.stderr.readline()
            assert line, said
            said += line
        server = Server(process, int(said.rpartition("127.0.0.1:")[2].partition("/")[0]))
        try:
            yield server
        finally:
            for browser in server.opened:
                browser.connection.close()
            _end(process)


def _end(process: subprocess.Popen[str]) -> None:
    """Stop a server as Ctrl-C does; one that does not stop is a failure, and is not left behind either."""
    process.send_signal(signal.SIGINT)
    try:
        process.wait(PATIENCE_S)
    finally:
        process.kill()
