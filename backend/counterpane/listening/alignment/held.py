"""How long keys are held: a wrong key is held about as long as the note that it stood for.

Whoever plays detached holds every key for half of its note, whoever plays legato for all of it, so a length is
compared with the share that this hand usually holds. Where that share varies widely (the pedal does the holding,
or a device sends no true releases), a length tells little and costs little. Costs are in nats: lengths lie about
the usual one as on a logarithmic scale, and none counts for more than `MOST_LENGTH`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import log
from statistics import median

from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.timeline import TimeLine
from counterpane.model.piece import Hand

MOST_LENGTH = 2.5
"""A key may stay down while the player looks for the next one, or be let go in fright."""

ON_AVERAGE = 0.5
"""What the lengths of right keys would cost on average: less than this speaks for a note, more against it."""

_FEWEST_KEYS = 8
"""Fewer keys of a hand do not tell how it holds them; both hands together then do."""

_LEAST_SPREAD = 0.25
"""Nobody holds keys more evenly than within a quarter of their length, whatever a few seem to show."""

_SPREAD_OF_MAD = 1.4826
"""Standard deviation over median absolute deviation, where lengths are spread normally."""

_SHORTEST_MS = 1.0


@dataclass(frozen=True)
class HeldShare:
    """The share of a note's length for which a hand holds its key: median and spread of the natural logarithms."""

    usual: float
    spread: float


class Held:
    """How well the length of a key suits a note of a run."""

    def __init__(self, pairs: Pairs, line: TimeLine, shares: Mapping[Hand, HeldShare]) -> None:
        self.pairs = pairs
        self.line = line
        self.shares = shares

    def cost(self, event: int, note: int) -> float:
        """Return what it costs to say that a key held for so long stood for a note; a length that suits saves."""
        misfit = self._misfit(event, note)
        return 0.0 if misfit is None else min(MOST_LENGTH, 0.5 * misfit**2) - ON_AVERAGE

    def cost_put_right(self, event: int, note: int) -> float:
        """Return the same for a key that was put right: it may be let go as soon as it is heard to be wrong."""
        misfit = self._misfit(event, note)
        return 0.0 if misfit is None else min(MOST_LENGTH, 0.5 * max(0.0, misfit) ** 2)

    def _misfit(self, event: int, note: int) -> float | None:
        """Return by how many spreads a key was held longer than usual for a note, or shorter: less than 0."""
        usual = self.shares.get(self.pairs.written.notes[note].hand)
        share = _log_share(self.pairs, self.line, event, note)
        return None if usual is None or share is None else (share - usual.usual) / usual.spread


def usual_shares(found: Iterable[Pairs]) -> dict[Hand, HeldShare]:
    """Return the share that each hand usually holds, where enough keys tell."""
    shares: dict[Hand, list[float]] = {"right": [], "left": []}
    for pairs in found:
        line = pairs.time_line()
        for event, note in pairs.played.items():
            share = _log_share(pairs, line, event, note)
            if share is not None:
                shares[pairs.written.notes[note].hand].append(share)
    either = [*shares["right"], *shares["left"]]
    return {
        hand: _usual(own if len(own) >= _FEWEST_KEYS else either)
        for hand, own in shares.items()
        if len(either) >= _FEWEST_KEYS
    }


def _usual(logs: Sequence[float]) -> HeldShare:
    middle = median(logs)
    deviation = median(abs(share - middle) for share in logs)
    return HeldShare(middle, max(_LEAST_SPREAD, _SPREAD_OF_MAD * deviation))


def _log_share(pairs: Pairs, line: TimeLine, event: int, note: int) -> float | None:
    held = pairs.held_ms[event]
    if held is None:
        return None
    written_ms = pairs.written.length_of[note] * line.pace(pairs.written.onset_of[note])
    return log(max(held, _SHORTEST_MS) / max(written_ms, _SHORTEST_MS))
