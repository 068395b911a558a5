"""How far an alignment agrees with what a simulated student truly did.

A *pair* is an event and the note whose key it struck, in whichever pass: truly as written or part of an
abandoned start. Keys that belong to an ornament make no pair, but they count as false extras when they are
called added. A wrong key is *named* when it is a replacement of the note for which it truly stood.
"""

from __future__ import annotations

from dataclasses import dataclass

from counterpane.model.assessment import Alignment
from demo.simulation.session import Session

_PAIRED = ("as_written", "abandoned")


@dataclass(frozen=True, slots=True)
class Agreement:
    """Counts that add up over sessions."""

    found: int = 0
    claimed: int = 0
    true: int = 0
    wrong_keys: int = 0
    named: int = 0
    events: int = 0
    false_extras: int = 0

    def __add__(self, other: Agreement) -> Agreement:
        return Agreement(*(getattr(self, name) + getattr(other, name) for name in self.__slots__))

    @property
    def f1(self) -> float:
        """Harmonic mean of precision and recall over pairs; 1.0 when there is nothing to find or claim."""
        return 2 * self.found / (self.claimed + self.true) if self.claimed + self.true else 1.0

    @property
    def named_share(self) -> float:
        """Share of wrong keys whose intended note was named; 1.0 when there were none."""
        return self.named / self.wrong_keys if self.wrong_keys else 1.0

    @property
    def false_extras_per_1000(self) -> float:
        """Events called added that were not, in a thousand events."""
        return 1000 * self.false_extras / self.events if self.events else 0.0


def agreement(session: Session, alignment: Alignment) -> Agreement:
    """Count agreement over one session."""
    counts = dict.fromkeys(Agreement.__slots__, 0)
    for truth, said in zip(session.events, alignment.events, strict=True):
        counts["events"] += 1
        counts["false_extras"] += said.status == "added" and truth.status != "added"
        if truth.status == "replacement":
            counts["wrong_keys"] += 1
            counts["named"] += said.status == "replacement" and said.note == truth.note
        if truth.ornament:
            continue
        claims = said.status in _PAIRED
        paired = truth.status in _PAIRED
        counts["claimed"] += claims
        counts["true"] += paired
        counts["found"] += claims and paired and said.note in (truth.note, *truth.others)
    return Agreement(**counts)
