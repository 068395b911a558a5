"""Two hundred students at once: how long a request takes while they practise.

`python -m pytest benchmarks/test_server_benchmark.py -s` starts `counterpane serve` on a fresh studio, signs two
hundred students in, and lets each of them practise for a minute over the loopback: open Today, the quilt, a drill
and its notation, then an attempt every 30 to 60 seconds with a look at the quilt and at Today in between. The
table gives the times as the students meet them; both cores are shared with the students. Nothing here asserts a
time; errors and lost attempts fail.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import subprocess
import sys
import threading
import time
from collections import defaultdict
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import psutil
import pytest

from counterpane.store.database import open_store
from counterpane.studio import links, people, pieces
from counterpane.studio.house import create_studio
from tests.studio.playing import played

STUDENTS = 200
SECONDS = 60.0
ARRIVE_WITHIN_S = 20.0
READY_AFTER_S = 4.0
BETWEEN_ATTEMPTS_S = (30.0, 60.0)
PIECES = Path(__file__).parents[1] / "demo" / "pieces"
PASSPHRASE = "a lantern on the ferry"  # noqa: S105 - a benchmark's own


@dataclass
class Studio:
    """What the students need to know: their links, and what they play."""

    path: Path
    tokens: list[str]
    piece: int
    events: list[list[float | int]]
    measures: tuple[int, int]


@dataclass
class Times:
    """Milliseconds by kind of request, and what went wrong."""

    taken: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    wrong: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)


@dataclass
class Student:
    """One student's browser: practises until `until` (monotonic seconds) at a person's pace."""

    number: int
    port: int
    studio: Studio
    times: Times
    until: float

    def practise(self) -> None:
        """Come in, look round, try; again and again until the time is over."""
        chance = random.Random(self.number)
        time.sleep(chance.uniform(0, ARRIVE_WITHIN_S))
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)) as connection:
            self.headers: dict[str, str] = {}
            self.connection = connection
            session = self._ask("sign in", "POST", "/session/link", {"token": self.studio.tokens[self.number]})
            self.headers["X-Csrf"] = session["csrf"]
            first, last = self.studio.measures
            piece = f"/pieces/{self.studio.piece}"
            self._read(chance, "today", "/today")
            self._read(chance, "quilt", f"{piece}/quilt")
            self._read(chance, "drill", f"{piece}/drills/p1")
            self._read(chance, "notation", f"{piece}/engraving?first={first}&last={last}")
            tried = 0
            while True:
                pause = chance.uniform(*BETWEEN_ATTEMPTS_S)
                if time.monotonic() + (pause if tried else 5) > self.until:
                    return
                time.sleep(pause if tried else 5)
                self._try(tried)
                tried += 1
                self._read(chance, "quilt", f"{piece}/quilt")
                self._read(chance, "today", "/today")

    def _read(self, chance: random.Random, kind: str, address: str) -> None:
        self._ask(kind, "GET", address)
        time.sleep(chance.uniform(0.5, 2.0))

    def _try(self, tried: int) -> None:
        first, last = self.studio.measures
        client_id = f"student-{self.number:04d}-{tried:04d}"
        body = {
            "client_id": client_id,
            "piece_id": self.studio.piece,
            "patch_id": "p1",
            "step_id": "right-slow",
            "passage": {"first_measure": first, "last_measure": last, "hands": "right", "tempo": 50},
            "started_at": datetime.now(UTC).isoformat(),
            "source": "web-midi",
            "raw_events": self.studio.events,
        }
        self._ask("attempt", "POST", "/attempts", body)
        self.times.kept.append(client_id)

    def _ask(self, kind: str, method: str, address: str, body: object = None) -> Any:
        headers = self.headers | ({"Content-Type": "application/json"} if body is not None else {})
        began = time.perf_counter()
        self.connection.request(method, f"/api{address}", None if body is None else json.dumps(body), headers)
        answer = self.connection.getresponse()
        data = answer.read()
        self.times.taken[kind].append((time.perf_counter() - began) * 1000)
        if cookie := answer.headers.get("Set-Cookie"):
            self.headers["Cookie"] = cookie.partition(";")[0]
        if answer.status not in (200, 201):
            self.times.wrong.append(f"{kind}: {answer.status} {data[:100]!r}")
        return json.loads(data)


@pytest.fixture
def studio(tmp_path: Path) -> Studio:
    path, now = tmp_path / "studio.db", datetime.now().astimezone()
    made = create_studio(path, "A school", PASSPHRASE, now)
    file = PIECES / "patchwork-in-d-minor.musicxml"
    piece = pieces.import_piece(made, file.read_bytes(), file.name, now).id
    tokens = []
    for number in range(STUDENTS):
        student = people.add_student(made, None, people.NewStudent(f"Student {number}"), now).id
        people.assign(made, None, student, (people.Assigned(piece),), now)
        wanted = links.WantedLink(student, "student", pin_required=False)
        tokens.append(links.create_link(made, None, wanted, "http://x", now).url.partition("#")[2])
    work = made.library.work(piece)
    patch = made.library.patches(work, "early", None, "en")[0]
    measures = patch.first_measure, patch.last_measure
    events = [list(event) for event in played(work.piece, *measures, "right", 50.0)]
    made.close()
    return Studio(path, tokens, piece, events, measures)


def test_two_hundred_students(studio: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    command = [sys.executable, "-m", "counterpane", "serve", "--studio", str(studio.path), "--port", "0"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as server:
        assert server.stderr is not None
        port = int(server.stderr.readline().rpartition(":")[2].partition("/")[0])
        time.sleep(READY_AFTER_S)
        process = psutil.Process(server.pid)
        used_before = sum(process.cpu_times()[:2])
        times = Times()
        until = time.monotonic() + SECONDS
        students = [Student(number, port, studio, times, until) for number in range(STUDENTS)]
        threads = [threading.Thread(target=student.practise) for student in students]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(timeout=SECONDS + 60)
        used = sum(process.cpu_times()[:2]) - used_before
        server.kill()
    with capsys.disabled():
        print(_table(times))
        print(f"server: {used:.1f} s of processor time; load of the machine: {os.getloadavg()[0]:.1f}")
    store = open_store(studio.path)
    with store.read() as db:
        kept = {row[0] for row in db.execute("SELECT client_id FROM attempt")}
    store.close()
    assert times.wrong == []
    assert len(times.kept) >= STUDENTS
    assert set(times.kept) == kept


def _table(times: Times) -> str:
    """Return one line a kind of request: how many, and the times that half, 99 in 100 and all stayed within."""
    lines = [
        "",
        f"{STUDENTS} students for {SECONDS:.0f} s",
        f"{'':10}{'number':>8}{'p50 ms':>9}{'p99 ms':>9}{'max ms':>9}",
    ]
    rows = dict(times.taken) | {"all": [one for row in times.taken.values() for one in row]}
    for kind, taken in rows.items():
        half, late = np.percentile(taken, [50, 99])
        lines.append(f"{kind:10}{len(taken):8}{half:9.1f}{late:9.1f}{max(taken):9.1f}")
    return "\n".join([*lines, f"errors: {len(times.wrong)}", f"attempts kept: {len(times.kept)}"])
