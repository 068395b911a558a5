"""`counterpane listen`: the computer at the piano sends what is played to the page on the music desk."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import quote, urlsplit
from urllib.request import Request, urlopen

import click

from counterpane.errors import PerformanceError
from counterpane.listening.events import RawEvent
from counterpane.listening.midi_input import KeyboardSource, MidiSource, choose_input, input_names

BATCH = 2000
_WAIT_S = 0.02
_TIMEOUT_S = 10.0
_FIRST_RETRY_S, _LAST_RETRY_S = 1.0, 30.0
_LOOK_EVERY_S = 2.0


class Pairing:
    """The link to one page, known by its code. What could not be sent stays in `waiting`."""

    def __init__(self, server: str, code: str) -> None:
        parts = urlsplit(server)
        if parts.scheme not in ("http", "https") or not parts.netloc:
            raise PerformanceError(
                f"{server!r} is no server's address; give it as https://HOST or http://HOST:PORT"
            )
        self._address = f"{server.rstrip('/')}/api/pairings/{quote(code.strip(), safe='')}"
        self._code = code
        self._secret = ""
        self.waiting: list[RawEvent] = []

    def claim(self) -> None:
        """Join the pairing; raises `PerformanceError` when the code is not known or the server not there."""
        try:
            self._secret = str(self._post("claim", None)["secret"])
        except URLError as error:
            raise PerformanceError(f"the server does not answer ({error.reason}); check --server") from error

    def send(self) -> None:
        """Send what is waiting, oldest first; raises `URLError` when the server cannot be reached."""
        while self.waiting:
            batch = self.waiting[:BATCH]
            self._post("events", {"events": batch})
            del self.waiting[: len(batch)]

    def _post(self, what: str, body: object) -> dict[str, Any]:
        headers = {"Content-Type": "application/json", "X-Pairing-Secret": self._secret}
        request = Request(  # noqa: S310 - the scheme was checked
            f"{self._address}/{what}", json.dumps(body).encode() if body else b"", headers, method="POST"
        )
        try:
            with urlopen(request, timeout=_TIMEOUT_S) as answer:  # noqa: S310 - the scheme was checked
                found = json.load(answer)
                return found if isinstance(found, dict) else {}
        except HTTPError as error:
            if error.code >= 500 or error.code == 429:
                raise URLError(f"answer {error.code}") from error
            raise PerformanceError(
                f"the page with the code {self._code!r} is not waiting; open it again and use its new code"
            ) from error
        except (TimeoutError, ConnectionError) as error:
            raise URLError(str(error)) from error


def relay(
    source: MidiSource, pairing: Pairing, say: Callable[[str], None], sleep: Callable[[float], None] = time.sleep
) -> None:
    """Send what the source plays until it is gone and everything has arrived; a server away is tried again.

    Times go out as the source gives them. Nothing is dropped while the server cannot be reached.
    """
    retry = 0.0
    while pairing.waiting or not source.gone:
        pairing.waiting += source.read(_WAIT_S)
        try:
            pairing.send()
        except URLError as error:
            if not retry:
                say(f"The server does not answer ({error.reason}); what is played is kept and sent later.")
            retry = min(_LAST_RETRY_S, max(_FIRST_RETRY_S, 2 * retry))
            sleep(retry)
        else:
            if retry:
                say("Connected again.")
            retry = 0.0


@click.command("listen")
@click.option("--port", help="Part of the name of the MIDI input, where there are several.")
@click.option("--server", help="The address that the page was opened at, for example http://192.168.1.20:8000.")
@click.option("--code", help="The short code that the page shows.")
@click.option("--list", "only_list", is_flag=True, help="Name the MIDI inputs and stop.")
def command(port: str | None, server: str | None, code: str | None, only_list: bool) -> None:
    """Send what is played on a piano at this computer to a page on another device."""
    if only_list:
        for name in input_names():
            click.echo(name)
        return
    if not server or not code:
        raise PerformanceError("give --server and --code, both shown on the page that waits for a piano")
    pairing = Pairing(server, code)
    clock = _clock()
    source = KeyboardSource(choose_input(port), clock)
    pairing.claim()
    while True:
        _say(f"Listening to {source.name}. Stop with Ctrl-C.")
        relay(source, pairing, _say)
        source.close()
        _say("The piano was switched off or unplugged; waiting for it.")
        source = _await_piano(port, clock)


def _say(sentence: str) -> None:
    click.echo(sentence, err=True)


def _clock() -> Callable[[], float]:
    """Return seconds from now on: one clock for the whole pairing, so that a piano plugged in anew goes on."""
    start = time.monotonic()
    return lambda: time.monotonic() - start


def _await_piano(port: str | None, clock: Callable[[], float]) -> KeyboardSource:
    while True:
        time.sleep(_LOOK_EVERY_S)
        with suppress(PerformanceError):
            return KeyboardSource(choose_input(port), clock)
