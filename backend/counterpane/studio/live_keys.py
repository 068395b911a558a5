"""Key events on their way from the computer at the piano to the page: one queue a listening page.

Nothing is kept here; the page records the attempt. The one process that serves the studio holds both ends.
"""

from __future__ import annotations

import json
from collections import defaultdict
from contextlib import suppress
from queue import Empty, Full, Queue
from threading import Lock

from counterpane.errors import CounterpaneError
from counterpane.store.packing import RawEvent

MOST_STREAMS = 12
STILL_HERE_S = 15.0
_MOST_WAITING = 2000
Message = tuple[str, str]


class TooManyStreams(CounterpaneError):
    """Every place for a listening page is taken."""


class Listener:
    """One page's end: iterate over its messages (kind, JSON), and `close` it, whether it was read or not.

    An empty kind comes after every `still_here_s` seconds of silence; the last kind is "ended".
    """

    def __init__(self, live: LiveKeys, pairing_id: int, still_here_s: float) -> None:
        self._live, self._pairing_id, self._still_here_s = live, pairing_id, still_here_s
        self._queue: Queue[Message] = Queue(_MOST_WAITING)
        self._ended = False

    def __iter__(self) -> Listener:
        return self

    def __next__(self) -> Message:
        if self._ended:
            raise StopIteration
        try:
            message = self._queue.get(timeout=self._still_here_s)
        except Empty:
            return ("", "")
        self._ended = message[0] == "ended"
        return message

    def tell(self, message: Message) -> None:
        """Hand a message over; a page that stopped reading loses it and does not hold up the one who plays."""
        with suppress(Full):
            self._queue.put_nowait(message)

    def close(self) -> None:
        """Give the place free again; closing twice is harmless."""
        self._live.forget(self._pairing_id, self)


class LiveKeys:
    """Hands messages from senders to listeners by pairing. Safe between threads."""

    def __init__(self) -> None:
        self._listeners: dict[int, list[Listener]] = defaultdict(list)
        self._lock = Lock()

    def listen(self, pairing_id: int, *, claimed: bool, still_here_s: float = STILL_HERE_S) -> Listener:
        """Return a listener for one page; raises `TooManyStreams` when every place is taken."""
        listener = Listener(self, pairing_id, still_here_s)
        with self._lock:
            if sum(len(listeners) for listeners in self._listeners.values()) >= MOST_STREAMS:
                raise TooManyStreams("Too many pages listen to a piano at once: end one of them first.")
            self._listeners[pairing_id].append(listener)
        if claimed:
            listener.tell(("paired", "{}"))
        return listener

    def paired(self, pairing_id: int) -> None:
        """Tell the listening page that the computer at the piano is there."""
        self._tell(pairing_id, ("paired", "{}"))

    def send(self, pairing_id: int, events: tuple[RawEvent, ...]) -> None:
        """Hand key events to the listening page."""
        self._tell(pairing_id, ("keys", json.dumps(events, separators=(",", ":"))))

    def end(self, pairing_id: int) -> None:
        """End the streams of a pairing."""
        self._tell(pairing_id, ("ended", "{}"))

    def end_all(self) -> None:
        """End every stream."""
        with self._lock:
            open_now = list(self._listeners)
        for pairing_id in open_now:
            self.end(pairing_id)

    def forget(self, pairing_id: int, listener: Listener) -> None:
        """Take a listener out."""
        with self._lock:
            if listener in self._listeners.get(pairing_id, ()):
                self._listeners[pairing_id].remove(listener)
            if not self._listeners.get(pairing_id):
                self._listeners.pop(pairing_id, None)

    def _tell(self, pairing_id: int, message: Message) -> None:
        with self._lock:
            listeners = list(self._listeners.get(pairing_id, ()))
        for listener in listeners:
            listener.tell(message)
