"""A server that a test can stop and start again at the same address, as a network comes and goes."""

from __future__ import annotations

import threading
from pathlib import Path

from werkzeug.serving import BaseWSGIServer, make_server

from counterpane.resources import page_folder
from counterpane.studio.house import Studio
from counterpane.web.app import create_app

_REQUESTS_A_MINUTE = 100_000


class Server:
    """The studio at `path`, served on one port until `close`."""

    def __init__(self, path: Path, page: Path | None = None) -> None:
        self.app = create_app(path, page_from=page or page_folder(), requests_a_minute=_REQUESTS_A_MINUTE)
        self._server: BaseWSGIServer | None = None
        self._port = 0
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
        self._server = make_server("127.0.0.1", self._port, self.app, threaded=True)
        self._port = self._server.server_port
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        """Answer nobody any more; what was kept stays."""
        if self._server:
            self._server.shutdown()
            self._server.server_close()
            self._server = None

    def close(self) -> None:
        """Stop and close the studio file."""
        self.stop()
        self.studio.close()
