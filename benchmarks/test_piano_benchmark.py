"""From the key to the page: a real MIDI port, the real `counterpane listen`, a real server and its stream.

`python -m pytest benchmarks/test_piano_benchmark.py -s` plays keys on a virtual port of this computer, as quickly
as sixteenths go, and prints how long each took to the page's stream. A key that is lost, doubled, changed or out
of order fails; nothing here asserts a time. A Linux without a MIDI system of its own gets a JACK server without
sound for the while (`jackd`, Debian's package jackd2).
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from http.client import HTTPResponse
from pathlib import Path
from threading import Thread

import mido
import numpy as np
import pytest

from counterpane.studio import links, people
from counterpane.studio.house import create_studio
from tests.web.server_process import Browser, served

KEYS = 500
BETWEEN_KEYS_S = 0.06
READY_AFTER_S = 1.5
PATIENCE_S = 10.0
PORT = "Counterpane's own piano"
PASSPHRASE = "a lantern on the ferry"  # noqa: S105 - a benchmark's own


@pytest.fixture
def midi() -> Iterator[str]:
    """Return the name of mido's backend for this computer's MIDI system, which runs meanwhile."""
    if sys.platform != "linux" or Path("/dev/snd/seq").exists():
        yield "mido.backends.rtmidi"
        return
    jackd = shutil.which("jackd")
    assert jackd, "this Linux has no MIDI system; install a JACK server (on Debian: apt-get install jackd2)"
    quiet = subprocess.DEVNULL
    with subprocess.Popen([jackd, "-r", "-m", "-d", "dummy"], stdout=quiet, stderr=quiet) as server:
        time.sleep(READY_AFTER_S)
        yield "mido.backends.rtmidi/UNIX_JACK"
        server.terminate()


@pytest.fixture
def token(tmp_path: Path) -> str:
    """Furnish a studio with one student and return the token of the student's link."""
    now = datetime.now().astimezone()
    made = create_studio(tmp_path / "studio.db", "A school", PASSPHRASE, now)
    student = people.add_student(made, None, people.NewStudent("Robin"), now).id
    wanted = links.WantedLink(student, "student", pin_required=False)
    url = links.create_link(made, None, wanted, "http://x", now).url
    made.close()
    return url.partition("#")[2]


def test_every_key_reaches_the_page(
    midi: str, token: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with served(tmp_path / "studio.db") as server, mido.Backend(midi).open_output(PORT, virtual=True) as piano:
        student = server.browser().sign_in("link", token=token)
        code = student.ask("POST", "/pairings")[1]["code"]
        page = Page(server.browser(student), code)
        with listening(midi, server.port, code):
            page.wait_for("paired")
            sent = []
            for number in range(KEYS):
                sent.append(time.monotonic())
                piano.send(mido.Message("note_on", note=36 + number % 49, velocity=1 + number % 127))
                time.sleep(BETWEEN_KEYS_S)
            page.wait_until(KEYS)
        student.ask("DELETE", f"/pairings/{code}")
    taken = [1000 * (arrived - struck) for (arrived, _), struck in zip(page.keys, sent, strict=True)]
    half, late = np.percentile(taken, [50, 99])
    with capsys.disabled():
        print(
            f"\n{KEYS} keys: half on the page in {half:.0f} ms, 99 % in {late:.0f} ms, all in {max(taken):.0f} ms"
        )
    assert [key for _, key in page.keys] == [[36 + n % 49, 1 + n % 127] for n in range(KEYS)]


@contextmanager
def listening(midi: str, port: int, code: str) -> Iterator[None]:
    """Run `counterpane listen` at the virtual piano."""
    command = [sys.executable, "-m", "counterpane", "listen", "--port", PORT, "--code", code]
    environment = os.environ | {"MIDO_BACKEND": midi}
    with subprocess.Popen(
        [*command, "--server", f"http://127.0.0.1:{port}"], env=environment, stderr=subprocess.DEVNULL
    ) as process:
        yield
        process.terminate()


class Page:
    """The page at the other end: what its stream says, and when it came (monotonic seconds)."""

    def __init__(self, browser: Browser, code: str) -> None:
        self.kinds: list[str] = []
        self.keys: list[tuple[float, list[int]]] = []
        Thread(target=self._read, args=(browser.stream(f"/pairings/{code}/stream"),), daemon=True).start()

    def _read(self, stream: HTTPResponse) -> None:
        for line in stream:
            name, _, value = line.decode().strip().partition(": ")
            if name == "event":
                self.kinds.append(value)
            elif name == "data" and self.kinds[-1] == "keys":
                self.keys += [(time.monotonic(), key[2:]) for key in json.loads(value)]

    def wait_for(self, kind: str) -> None:
        """Wait until the stream has said something."""
        self._wait(lambda: kind in self.kinds)

    def wait_until(self, keys: int) -> None:
        """Wait until so many keys have come."""
        self._wait(lambda: len(self.keys) >= keys)

    def _wait(self, done: Callable[[], bool]) -> None:
        end = time.monotonic() + PATIENCE_S
        while not done() and time.monotonic() < end:
            time.sleep(0.05)
