"""Keeps what was made last at hand: at most so many, each made once even when several threads ask at a time."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class Recent(Generic[K, V]):
    """A least-recently-used store of at most `most` values."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[K, V] = OrderedDict()
        self._making: dict[K, Lock] = {}
        self._lock = Lock()

    def get(self, key: K, make: Callable[[], V]) -> V:
        """Return the value of `key`, made by `make` where it is not at hand."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            making = self._making.setdefault(key, Lock())
        with making:
            with self._lock:
                if key in self._kept:
                    return self._kept[key]
            made = make()
            self._keep(key, made)
            return made

    def _keep(self, key: K, made: V) -> None:
        with self._lock:
            self._kept[key] = made
            self._making.pop(key, None)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
