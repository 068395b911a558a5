"""What was made last is at hand, and made once."""

from __future__ import annotations

import threading
import time

import pytest

from counterpane.studio.recent import Recent


def test_a_value_is_made_once_however_many_ask() -> None:
    made: list[int] = []

    def make() -> int:
        time.sleep(0.02)
        made.append(1)
        return len(made)

    recent: Recent[str, int] = Recent(4)
    found: list[int] = []
    threads = [threading.Thread(target=lambda: found.append(recent.get("a", make))) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=10)
    assert found == [1] * 8


def test_the_longest_unused_goes_first() -> None:
    recent: Recent[str, str] = Recent(2)
    asked: list[str] = []

    def get(key: str) -> None:
        def make() -> str:
            asked.append(key)
            return key

        recent.get(key, make)

    for key in ("a", "b", "a", "c", "a", "b"):
        get(key)
    assert asked == ["a", "b", "c", "b"]


def test_what_could_not_be_made_is_tried_again() -> None:
    recent: Recent[str, int] = Recent(2)
    with pytest.raises(ZeroDivisionError):
        recent.get("a", lambda: 1 // 0)
    assert recent.get("a", lambda: 7) == 7
