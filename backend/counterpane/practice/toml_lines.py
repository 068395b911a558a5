"""On which line of a TOML file each key stands, since the parser of the standard library does not say.

Only what a drill file may hold is followed: tables, arrays of tables and keys at the start of a line. Values that
run over several lines are stepped over.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping

Path = tuple[str | int, ...]

_ARRAY = re.compile(r"\s*\[\[\s*([\w.\"'-]+)\s*\]\]")
_TABLE = re.compile(r"\s*\[\s*([\w.\"'-]+)\s*\]")
_KEY = re.compile(r"""\s*("[^"]*"|'[^']*'|[\w.-]+)\s*=""")
_TRIPLE = re.compile(r'"""|\'\'\'')


def key_lines(text: str) -> Mapping[Path, int]:
    """Return the line (from 1) of each key by path, for example ("patch", 2, "hands"), and of each table."""
    lines: dict[Path, int] = {}
    counts: Counter[str] = Counter()
    table: Path = ()
    in_string = False
    for number, line in enumerate(text.splitlines(), start=1):
        quotes = len(_TRIPLE.findall(line))
        if in_string:
            in_string = quotes % 2 == 0
            continue
        if match := _ARRAY.match(line):
            name = match[1]
            table = (*_parts(name), counts[name])
            counts[name] += 1
            lines[table] = number
        elif match := _TABLE.match(line):
            table = _parts(match[1])
            lines[table] = number
        elif match := _KEY.match(line):
            lines.setdefault((*table, *_parts(match[1])), number)
        in_string = quotes % 2 == 1
    return lines


def line_of(lines: Mapping[Path, int], path: Path) -> int:
    """Return the line of `path`, or of the nearest table around it (line 1 when there is none)."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


def _parts(dotted: str) -> tuple[str, ...]:
    if dotted[0] in "\"'":
        return (dotted[1:-1],)
    return tuple(part.strip("\"'") for part in dotted.split("."))
