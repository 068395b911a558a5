"""Notation code that crashes, hangs or chatters does so in a process of its own."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest

from counterpane.score.verovio_process import VerovioProcess
from tests.score import one_piece


@pytest.fixture
def process() -> Iterator[VerovioProcess]:
    process = VerovioProcess()
    yield process
    process.close()


def test_a_killed_process_is_replaced(process: VerovioProcess) -> None:
    """One answer is lost, the next comes."""
    assert process.to_mei(one_piece.KERN, "humdrum").pages
    child = process._child
    assert child is not None
    os.kill(child.pid, signal.SIGKILL)
    child.wait()
    assert process.to_mei(one_piece.KERN, "humdrum").pages


def test_a_process_that_does_not_answer_in_time_is_ended() -> None:
    """Patience is limited, and the caller gets an empty answer instead of waiting for ever."""
    process = VerovioProcess(patience_s=0.0)
    try:
        assert process.to_mei(one_piece.KERN * 2, "humdrum").pages == ()
    finally:
        process.close()


def test_chatter_stays_out_of_the_program(process: VerovioProcess, capfd: pytest.CaptureFixture[str]) -> None:
    """What the library prints about a bad file comes back as the log, not on standard output or error."""
    broken = one_piece.KERN.replace("8dd\n", "2dd\n", 1)
    answer = process.to_mei(broken, "humdrum")
    assert "Inconsistent rhythm" in answer.log
    assert tuple(capfd.readouterr()) == ("", "")


def test_what_cannot_be_loaded_gives_no_pages(process: VerovioProcess) -> None:
    """Text that is no MEI."""
    assert process.to_mei("<nothing/>", "mei").pages == ()
