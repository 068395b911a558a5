"""Minutes at the instrument, from the attempts themselves.

A day's minutes are the time covered by its attempts, and the pauses between them up to three minutes each: what
lies between two tries is practice too, a tea break is not. An attempt of unknown length counts as half a minute.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from counterpane.store.attempts import AttemptRow
from counterpane.store.clock import moment

LONGEST_PAUSE_S = 180.0
UNKNOWN_S = 30.0


@dataclass(frozen=True)
class DayMinutes:
    """Minutes of one day, and how many of them were self-judged."""

    minutes: float
    self_judged: float


def minutes_by_day(attempts: Iterable[AttemptRow]) -> dict[str, DayMinutes]:
    """Return the minutes of each ISO day with attempts."""
    by_day: dict[str, list[AttemptRow]] = defaultdict(list)
    for attempt in attempts:
        by_day[attempt.day].append(attempt)
    return {day: _minutes(sorted(rows, key=lambda row: row.started_at)) for day, rows in by_day.items()}


def _minutes(rows: Sequence[AttemptRow]) -> DayMinutes:
    total = self_judged = 0.0
    end = 0.0
    for row in rows:
        start = moment(row.started_at).timestamp()
        until = start + (row.seconds or UNKNOWN_S)
        pause = start - end
        begun = end if 0 < pause <= LONGEST_PAUSE_S else max(start, end)
        spent = max(0.0, until - begun)
        total += spent
        self_judged += spent if row.source == "self-judged" else 0.0
        end = max(end, until)
    return DayMinutes(total / 60, self_judged / 60)
