"""The application behind waitress: one process, one studio file, as many threads as requests at once.

Each page that listens to a piano holds a thread, so there are always eight more threads than such pages may be.
"""

from __future__ import annotations

import errno
import select
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any, cast

from waitress.server import create_server  # type: ignore[import-untyped]  # it ships no types

from counterpane.errors import CounterpaneError
from counterpane.store.occupancy import occupy
from counterpane.studio.house import Studio
from counterpane.studio.readiness import make_ready_meanwhile
from counterpane.web.app import create_app
from counterpane.web.limits import SCORE_BYTES
from counterpane.web.page import NO_PAGE

PORTS_TRIED = 50
BACKLOG = 1024
# A browser keeps its connection open between requests: a school's worth of them must not wait for each other.
CONNECTIONS = 2000


class PortTaken(CounterpaneError):
    """Another program listens at the port."""


def serve(
    studio_path: Path,
    host: str,
    port: int,
    *,
    next_port: bool,
    threads: int,
    behind_proxy: bool,
    say: Callable[[str], None],
) -> None:
    """Serve a studio until interrupted; `say` gets the address and everything else a person should know."""
    app = create_app(studio_path, behind_proxy=behind_proxy)
    studio = cast(Studio, app.extensions["counterpane"])
    with occupy(studio_path):
        listening = listen(host, port, next_port=next_port)
        taken = listening.getsockname()[1]
        server: Any = create_server(
            app,
            sockets=[listening],
            threads=threads,
            max_request_body_size=SCORE_BYTES + 1024,
            connection_limit=CONNECTIONS,
            asyncore_use_poll=hasattr(select, "poll"),
        )
        if port not in (0, taken):
            say(f"Port {port} is taken, so the studio is at port {taken}.")
        if app.extensions["page"] is None:
            say(NO_PAGE)
        say(f"The studio is open at {address(host, taken)} (stop with Ctrl-C).")
        getting_ready = make_ready_meanwhile(studio)
        try:
            server.run()
        finally:
            server.close()
            getting_ready.join()
            studio.close()


def listen(host: str, port: int, *, next_port: bool) -> socket.socket:
    """Return a listening socket; raises `PortTaken`, or takes the next free port where `next_port` says so."""
    for candidate in range(port, min(port + (PORTS_TRIED if next_port and port else 1), 65536)):
        found = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
        try:
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            found.bind((host, candidate))
            found.listen(BACKLOG)
        except OSError as error:
            found.close()
            if not _is_taken(error):
                raise CounterpaneError(
                    f"Cannot listen at {host} ({error.strerror}): check --host and --port."
                ) from error
        else:
            return found
    raise PortTaken(f"Port {port} is taken by another program: choose another with --port, or add --next-port.")


def free_port(host: str, port: int) -> int:
    """Return `port`, or the next one that is free; another program may still take it before it is used."""
    with listen(host, port, next_port=True) as found:
        return int(found.getsockname()[1])


def address(host: str, port: int) -> str:
    """Return the address to type into a browser."""
    shown = "127.0.0.1" if host in ("0.0.0.0", "::") else host  # noqa: S104 - told, not bound
    return f"http://[{shown}]:{port}/" if ":" in shown else f"http://{shown}:{port}/"


def _is_taken(error: OSError) -> bool:
    return error.errno in (errno.EADDRINUSE, getattr(errno, "WSAEADDRINUSE", errno.EADDRINUSE))
