"""One studio file is served by one process: a lock on a file beside it says that it is.

The operating system drops the lock when the process ends, however it ends, so that nothing is left behind.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from counterpane.errors import Conflict

if sys.platform == "win32":
    import msvcrt

    def _lock(file: BinaryIO) -> None:
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(file: BinaryIO) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def occupy(studio: Path) -> Iterator[None]:
    """Hold a studio file for serving; raises `Conflict` when another process serves it."""
    with _beside(studio).open("ab") as file:
        try:
            _lock(file)
        except OSError as error:
            raise Conflict(f"{studio} is being served by another process: stop that one first.") from error
        yield


def occupied(studio: Path) -> bool:
    """Say whether a process serves a studio file."""
    if not _beside(studio).exists():
        return False
    try:
        with occupy(studio):
            return False
    except Conflict:
        return True


def _beside(studio: Path) -> Path:
    return studio.with_name(studio.name + ".serving")
