"""Asking verovio, in its own process, from any thread.

One process serves the whole program; a lock lets one thread ask at a time. It is started at the first
question, replaced when it crashed or did not answer in time, and ends with the program.
"""

from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
import threading
from dataclasses import dataclass
from typing import Any

_COMMAND = (sys.executable, "-m", "counterpane.score.verovio_worker")
_PATIENCE_S = 60.0


@dataclass(frozen=True)
class Answer:
    """What verovio made of a file: `pages` is one MEI text or one SVG a page; empty when it failed."""

    pages: tuple[str, ...]
    log: str


class VerovioProcess:
    """A verovio that cannot harm this process. `patience_s` is how long one answer may take, in seconds."""

    def __init__(self, patience_s: float = _PATIENCE_S) -> None:
        self._patience_s = patience_s
        self._lock = threading.Lock()
        self._child: subprocess.Popen[str] | None = None
        self._owner = 0

    def to_mei(self, data: str, input_from: str) -> Answer:
        """Convert `data` ("musicxml", "humdrum" or "mei") to MEI."""
        options = {"inputFrom": input_from, "xmlIdSeed": 1}
        return self._ask({"want": "mei", "data": data, "options": options})

    def to_svg(self, mei: str, options: dict[str, Any], select: dict[str, str] | None) -> Answer:
        """Engrave `mei` with verovio's `options`, the whole or a selection of measures."""
        fixed = {"inputFrom": "mei", "xmlIdSeed": 1}
        return self._ask({"want": "svg", "data": mei, "options": {**options, **fixed}, "select": select})

    def close(self) -> None:
        """End the process; the next question starts another."""
        with self._lock:
            self._stop()

    def _ask(self, request: dict[str, Any]) -> Answer:
        with self._lock:
            reply = self._exchange(json.dumps(request))
        if reply is None:
            return Answer((), "no answer")
        return Answer(tuple(reply["result"]) if reply["ok"] else (), reply["log"])

    def _exchange(self, line: str) -> dict[str, Any] | None:
        child = self._running()
        assert child.stdin is not None
        assert child.stdout is not None
        alarm = threading.Timer(self._patience_s, child.kill)
        alarm.start()
        try:
            child.stdin.write(line + "\n")
            child.stdin.flush()
            answer = child.stdout.readline()
        except BrokenPipeError:
            answer = ""
        finally:
            alarm.cancel()
        if not answer:
            self._stop()
            return None
        reply: dict[str, Any] = json.loads(answer)
        return reply

    def _running(self) -> subprocess.Popen[str]:
        # After a fork the child process must not share its parent's pipe.
        if self._child is None or self._owner != os.getpid() or self._child.poll() is not None:
            if self._owner == os.getpid():
                self._stop()
            self._child = subprocess.Popen(
                _COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
            )
            self._owner = os.getpid()
        return self._child

    def _stop(self) -> None:
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        child.wait()
        for pipe in (child.stdin, child.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except BrokenPipeError:
                    continue


VEROVIO = VerovioProcess()
"""The one that the whole program asks."""

atexit.register(VEROVIO.close)
