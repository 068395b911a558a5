"""MIDI from a keyboard: a source of raw key events, real (python-rtmidi through mido) or scripted.

A source is read in batches and says when it is gone. The scripted one plays a list of batches; tests and the demo
use it in place of an instrument. The clock of a real source is given to it, in seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from queue import Empty, SimpleQueue
from typing import Any, Protocol

import mido

from counterpane.errors import PerformanceError
from counterpane.listening.events import CONTROL_CHANGE, NOTE_OFF, NOTE_ON, RawEvent

_WANTED = (NOTE_OFF, NOTE_ON, CONTROL_CHANGE)
_LOOK_EVERY_S = 2.0


class MidiSource(Protocol):
    """Where key events come from."""

    name: str

    def read(self, seconds: float) -> list[RawEvent]:
        """Return the events since the last call, waiting up to so many seconds for the first one."""

    @property
    def gone(self) -> bool:
        """Whether nothing more will come: the instrument was unplugged or the script is over."""

    def close(self) -> None:
        """Let go of the instrument."""


class KeyboardSource:
    """An instrument at a MIDI input of this computer. Times are the clock's, in milliseconds.

    `backend` is what mido calls a backend (the module that names and opens ports).
    """

    def __init__(self, name: str, clock: Callable[[], float], backend: Any = mido) -> None:
        self.name = name
        self._backend = backend
        self._clock = clock
        self._looked = clock()
        self._events: SimpleQueue[RawEvent] = SimpleQueue()
        try:
            self._port = backend.open_input(name, callback=self._keep)
        except Exception as error:  # the driver's own errors share no base; all mean the same here
            raise PerformanceError(f"the MIDI input {name!r} cannot be opened; close what else uses it") from error

    def _keep(self, message: Any) -> None:
        data = message.bytes()
        if len(data) == 3 and data[0] & 0xF0 in _WANTED:
            self._events.put((round(self._clock() * 1000.0, 3), *data))

    def read(self, seconds: float) -> list[RawEvent]:
        """Return the events since the last call, waiting up to so many seconds for the first one."""
        try:
            found = [self._events.get(timeout=seconds)]
        except Empty:
            return []
        while not self._events.empty():
            found.append(self._events.get_nowait())
        self._looked = self._clock()
        return found

    @property
    def gone(self) -> bool:
        """Whether the instrument is no longer among the inputs.

        Looked up after some silence only: what was just heard is there, and on some systems (JACK) a look at the
        inputs disturbs the messages under way.
        """
        if self._clock() - self._looked < _LOOK_EVERY_S:
            return False
        self._looked = self._clock()
        return self.name not in input_names(self._backend)

    def close(self) -> None:
        """Let go of the instrument."""
        self._port.close()


def input_names(backend: Any = mido) -> tuple[str, ...]:
    """Return the names of the MIDI inputs; raises `PerformanceError` where there is no MIDI system at all."""
    try:
        return tuple(dict.fromkeys(backend.get_input_names()))
    except Exception as error:  # rtmidi's SystemError is its own class, and a missing driver an ImportError
        raise PerformanceError(
            "this computer has no MIDI system to use; connect the piano to the tablet, or record a MIDI file"
        ) from error


def choose_input(wanted: str | None, backend: Any = mido) -> str:
    """Return the input to open: the one whose name holds `wanted`, or the only one there is.

    Raises `PerformanceError` with the names that there are when that is not clear.
    """
    names = input_names(backend)
    if not names:
        raise PerformanceError("no MIDI instrument is connected; switch the piano on and check its cable")
    fitting = [name for name in names if wanted is None or wanted.casefold() in name.casefold()]
    if len(fitting) == 1:
        return fitting[0]
    listed = ", ".join(repr(name) for name in names)
    if not fitting:
        raise PerformanceError(f"no MIDI input is called {wanted!r}; there are: {listed}")
    raise PerformanceError(f"several MIDI inputs fit; choose one with --port: {listed}")
