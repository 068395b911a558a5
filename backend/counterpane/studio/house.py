"""The studio in use: its file, the pieces and histories kept at hand, and the keys being streamed right now."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from counterpane.store import people, sessions
from counterpane.store.database import Store, create, open_store
from counterpane.studio.library import Library
from counterpane.studio.live_keys import LiveKeys
from counterpane.studio.past import Kept
from counterpane.studio.secrets import hash_passphrase


@dataclass(frozen=True)
class Studio:
    """One open studio. Use cases take it first; it is safe between threads."""

    store: Store
    library: Library
    live: LiveKeys
    histories: dict[int, Kept] = field(default_factory=dict)

    def close(self) -> None:
        """End streams and close the file."""
        self.live.end_all()
        self.store.close()


def open_studio(path: Path) -> Studio:
    """Open the studio file at `path`; raises `NotFound` or `StoreError`."""
    return _studio(open_store(path))


def create_studio(path: Path, name: str, passphrase: str, now: datetime) -> Studio:
    """Make a studio file with its teacher; raises `Conflict` when the file exists already.

    Nothing stays behind when the passphrase is refused.
    """
    passphrase_hash = hash_passphrase(passphrase)
    store = create(path, now)
    with store.write() as db:
        people.found_studio(db, name, passphrase_hash, now)
    return _studio(store)


def change_passphrase(studio: Studio, passphrase: str) -> None:
    """Replace the teacher's passphrase and sign the teacher out everywhere."""
    passphrase_hash = hash_passphrase(passphrase)
    with studio.store.write() as db:
        people.change_passphrase(db, passphrase_hash)
        sessions.end_all_of(db, people.teacher(db).id)


def _studio(store: Store) -> Studio:
    return Studio(store, Library(store), LiveKeys())
