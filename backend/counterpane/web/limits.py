"""How often and how much: tries at a secret, requests a minute, bytes a body.

Counts are kept in the memory of the one process; a restart forgives. PIN tries are counted in the studio file
as well (see studio/sign_in.py), so that neither a restart nor a second address helps a guesser.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock
from typing import cast

from flask import current_app, request

from counterpane.errors import CounterpaneError, NotAllowed, NotFound

MOST_TRIES = 10
TRY_WINDOW_S = 300.0
MOST_NAMES = 10_000
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
        with self._lock:
            seen = self._recent(name)
            if len(seen) >= self._most:
                return False
            seen.append(self._clock())
            return True

    def is_full(self, name: str) -> bool:
        """Say whether one more event would be too many."""
        with self._lock:
            return len(self._recent(name)) >= self._most

    def _recent(self, name: str) -> deque[float]:
        since = self._clock() - self._seconds
        if len(self._seen) > MOST_NAMES:
            self._seen = {known: seen for known, seen in self._seen.items() if seen and seen[-1] > since}
        seen = self._seen.setdefault(name, deque())
        while seen and seen[0] <= since:
            seen.popleft()
        return seen


@contextmanager
def few_failures(secret: str) -> Iterator[None]:
    """Let a try at a secret be made; raises `TooMany` after ten that failed in five minutes from this address.

    Only what fails is counted, so that a whole class may sign in at one moment.
    """
    tries = cast(SlidingWindow, current_app.extensions["tries"])
    name = f"{secret} {request.remote_addr}"
    if tries.is_full(name):
        raise TooMany("Too many tries: wait five minutes, then try again.")
    try:
        yield
    except (NotAllowed, NotFound):
        tries.allows(name)
        raise


def score_body() -> bytes:
    """Return the raw request body of an upload, at most `SCORE_BYTES` long."""
    request.max_content_length = SCORE_BYTES
    return request.get_data(cache=False)
