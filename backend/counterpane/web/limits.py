"""How often and how much: tries at a secret, requests a minute, bytes a body.

Counts are kept in the memory of the one process; a restart forgives. PIN tries are counted in the studio file
as well (see studio/sign_in.py), so that neither a restart nor a second address helps a guesser.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from threading import Lock
from typing import cast

from flask import current_app, request

from counterpane.errors import CounterpaneError

MOST_TRIES = 10
TRY_WINDOW_S = 300.0
MOST_REQUESTS = 900
REQUEST_WINDOW_S = 60.0
JSON_BYTES = 3 * 1024 * 1024
SCORE_BYTES = 10 * 1024 * 1024


class TooMany(CounterpaneError):
    """Somebody asks too often."""


class TooLarge(CounterpaneError):
    """A body is larger than anything that belongs here."""


class SlidingWindow:
    """Counts events by name within the last `seconds`; more than `most` is too many. Safe between threads."""

    def __init__(self, most: int, seconds: float, clock: Callable[[], float] = time.monotonic) -> None:
        self._most, self._seconds, self._clock = most, seconds, clock
        self._seen: dict[str, deque[float]] = {}
        self._lock = Lock()

    def allows(self, name: str) -> bool:
        """Count one event and say whether it is still within the limit."""
        now = self._clock()
        with self._lock:
            if len(self._seen) > 10_000:
                self._forget_old(now)
            seen = self._seen.setdefault(name, deque())
            while seen and seen[0] <= now - self._seconds:
                seen.popleft()
            if len(seen) >= self._most:
                return False
            seen.append(now)
            return True

    def forgive(self, name: str) -> None:
        """Forget what was counted under a name."""
        with self._lock:
            self._seen.pop(name, None)

    def _forget_old(self, now: float) -> None:
        self._seen = {name: seen for name, seen in self._seen.items() if seen[-1] > now - self._seconds}


def count_try(secret: str) -> None:
    """Count one try at a secret from this address; raises `TooMany` beyond ten in five minutes."""
    if not _tries().allows(f"{secret} {request.remote_addr}"):
        raise TooMany("Too many tries: wait five minutes, then try again.")


def forgive(secret: str) -> None:
    """Drop the failed tries from this address: one has succeeded."""
    _tries().forgive(f"{secret} {request.remote_addr}")


def _tries() -> SlidingWindow:
    return cast(SlidingWindow, current_app.extensions["tries"])


def score_body() -> bytes:
    """Return the raw request body of an upload, at most `SCORE_BYTES` long."""
    request.max_content_length = SCORE_BYTES
    return request.get_data(cache=False)
