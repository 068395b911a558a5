"""A keyboard at this computer, behind a seam: what a driver may do, and what a player is told."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import mido
import pytest

from counterpane.errors import PerformanceError
from counterpane.listening.midi_input import KeyboardSource, choose_input, input_names
from tests.listening.scripted import ScriptedSource


class FakeDriver:
    """A MIDI system with some inputs; `strike` sends a message to whoever opened one."""

    def __init__(self, *names: str) -> None:
        self.names = list(names)
        self.looks = 0
        self.callback: Callable[[mido.Message], None] | None = None

    def get_input_names(self) -> list[str]:
        self.looks += 1
        return self.names

    def open_input(self, name: str, callback: Callable[[mido.Message], None]) -> Any:
        if name not in self.names:
            raise OSError(f"unknown port {name!r}")
        self.callback = callback
        return SimpleNamespace(close=lambda: None)

    def strike(self, *message: int) -> None:
        assert self.callback is not None
        self.callback(mido.Message.from_bytes(message))


class NoMidiSystem:
    """What python-rtmidi does where the operating system offers no MIDI: an error class of its own."""

    def get_input_names(self) -> list[str]:
        raise SystemError("MidiInAlsa::initialize: error creating ALSA sequencer client object.")


def test_keys_come_with_the_time_of_the_clock() -> None:
    """Milliseconds of the clock; clock ticks, active sensing and programs are left out."""
    now = [100.0]
    driver = FakeDriver("Piano")
    source = KeyboardSource("Piano", lambda: now[0], driver)
    driver.strike(0x90, 60, 64)
    now[0] = 100.25
    driver.strike(0xF8)
    driver.strike(0xC0, 5)
    driver.strike(0xB0, 64, 127)
    driver.strike(0x80, 60, 0)
    assert source.read(0.1) == [(100_000.0, 0x90, 60, 64), (100_250.0, 0xB0, 64, 127), (100_250.0, 0x80, 60, 0)]
    assert source.read(0.001) == []


def test_an_unplugged_piano_is_noticed_after_some_seconds() -> None:
    """Its name is no longer among the inputs; the driver is not asked at every turn."""
    now = [0.0]
    driver = FakeDriver("Piano")
    source = KeyboardSource("Piano", lambda: now[0], driver)
    driver.names.clear()
    assert not source.gone
    now[0] = 3.0
    assert source.gone


def test_a_piano_plugged_in_anew_goes_on_with_the_same_time() -> None:
    """Opened twice on one clock: what comes later has the later time."""
    now = [1.0]
    driver = FakeDriver("Piano")
    times = []
    for _ in range(2):
        source = KeyboardSource("Piano", lambda: now[0], driver)
        driver.strike(0x90, 60, 64)
        times += [event[0] for event in source.read(0.1)]
        now[0] += 10.0
    assert times == [1_000.0, 11_000.0]


def test_the_driver_is_not_asked_while_somebody_plays() -> None:
    """A note every second for a minute: no look at the inputs; then three seconds of silence: one."""
    now = [0.0]
    driver = FakeDriver("Piano")
    source = KeyboardSource("Piano", lambda: now[0], driver)
    for _ in range(60):
        now[0] += 1.0
        driver.strike(0x90, 60, 64)
        assert source.read(0.1)
        assert not source.gone
    assert driver.looks == 0
    now[0] += 3.0
    assert not source.gone
    assert driver.looks == 1


@pytest.mark.parametrize(
    ("driver", "wanted", "sentence"),
    [
        (NoMidiSystem(), None, "no MIDI system"),
        (FakeDriver(), None, "no MIDI instrument is connected"),
        (FakeDriver("Piano"), "organ", "no MIDI input is called 'organ'; there are: 'Piano'"),
        (FakeDriver("Piano 1", "Piano 2"), None, "choose one with --port: 'Piano 1', 'Piano 2'"),
    ],
)
def test_what_is_not_clear_is_said_in_one_sentence(driver: Any, wanted: str | None, sentence: str) -> None:
    """No MIDI system, no instrument, a wrong name, several instruments."""
    with pytest.raises(PerformanceError, match=sentence):
        choose_input(wanted, driver)


def test_part_of_a_name_is_enough() -> None:
    """Names as systems give them are long."""
    assert choose_input("digital", FakeDriver("Through 14:0", "Digital Piano 20:0")) == "Digital Piano 20:0"


def test_a_busy_input_is_said() -> None:
    """The driver's error when opening fails does not leak."""
    with pytest.raises(PerformanceError, match="cannot be opened"):
        KeyboardSource("Elsewhere", lambda: 0.0, FakeDriver("Piano"))


def test_this_computer_has_inputs_or_a_sentence() -> None:
    """The real driver, whatever is there: a tuple of names, or our error."""
    try:
        names = input_names()
    except PerformanceError as error:
        names = ()
        assert "no MIDI system" in error.message  # noqa: PT017 - either outcome is right, by machine
    assert isinstance(names, tuple)


def test_a_script_plays_its_batches_and_is_gone() -> None:
    """The scripted source needs no instrument."""
    source = ScriptedSource([[(0.0, 0x90, 60, 64)], [(300.0, 0x80, 60, 0)]])
    assert [source.read(0), source.gone, source.read(0), source.gone] == [
        [(0.0, 0x90, 60, 64)],
        False,
        [(300.0, 0x80, 60, 0)],
        True,
    ]
