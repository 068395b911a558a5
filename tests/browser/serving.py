"""A server that a test can stop and start again at the same address, as a network comes and goes."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from werkzeug.serving import BaseWSGIServer, make_server

from counterpane.resources import page_folder
from counterpane.studio.house import Studio
from counterpane.web.app import create_app
from counterpane.web.serving import free_port

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

_REQUESTS_A_MINUTE = 100_000
_LONGEST_REQUEST_S = 30.0
# Below the ports that systems hand out by themselves: nobody is given a stopped server's port meanwhile.
FIRST_PORT = 20_000 + os.getpid() % 10_000


class Server:
    """The studio at `path`, served on one port until `close`."""

    def __init__(self, path: Path, page: Path | None = None) -> None:
        self.app = create_app(path, page_from=page or page_folder(), requests_a_minute=_REQUESTS_A_MINUTE)
        self._server: BaseWSGIServer | None = None
        self._port = free_port("127.0.0.1", FIRST_PORT)
        self._answering = 0
        self._answered = threading.Condition()
        self.start()

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://127.0.0.1:{self._port}"

    @property
    def studio(self) -> Studio:
        """The open studio, to look at what has arrived."""
        found = self.app.extensions["counterpane"]
        assert isinstance(found, Studio)
        return found

    def start(self) -> None:
        """Answer, at the port of the first time."""
        self._server = make_server("127.0.0.1", self._port, self._answer, threaded=True)
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        """Answer nobody any more; what was kept stays."""
        if self._server:
            self._server.shutdown()
            self._server.server_close()
            self._server = None

    def close(self) -> None:
        """Stop, let the requests under way end, and close the studio file."""
        self.stop()
        with self._answered:
            self._answered.wait_for(lambda: self._answering == 0, _LONGEST_REQUEST_S)
        self.studio.close()

    def _answer(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        with self._answered:
            self._answering += 1
        try:
            return self.app(environ, start_response)
        finally:
            with self._answered:
                self._answering -= 1
                self._answered.notify_all()
