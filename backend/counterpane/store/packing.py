"""How bulky columns are kept: key events and reports, packed without loss.

Key events: one byte with the format's number (1), then a zlib stream of 11 bytes an event: the time in ms as a
little-endian IEEE double, then status, data1 and data2. Reports: a zlib stream of compact JSON in UTF-8.
"""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Iterable
from typing import Any

from counterpane.errors import StoreError

RawEvent = tuple[float, int, int, int]
_FORMAT = b"\x01"
_EVENT = struct.Struct("<d3B")


def pack_events(events: Iterable[RawEvent]) -> bytes:
    """Pack key events (time_ms, status, data1, data2)."""
    return _FORMAT + zlib.compress(b"".join(_EVENT.pack(*event) for event in events), 6)


def unpack_events(packed: bytes) -> tuple[RawEvent, ...]:
    """Return the key events exactly as they were packed."""
    if packed[:1] != _FORMAT:
        raise StoreError(f"Key events of format {packed[:1]!r} are unknown here: install a newer Counterpane.")
    return tuple(_EVENT.iter_unpack(zlib.decompress(packed[1:])))


def pack_report(report: object) -> bytes:
    """Pack anything JSON can hold."""
    return zlib.compress(json.dumps(report, separators=(",", ":"), ensure_ascii=False).encode(), 6)


def unpack_report(packed: bytes) -> Any:
    """Return what `pack_report` packed."""
    return json.loads(zlib.decompress(packed))
