"""Between the notation and the piece: written noteheads in time, before ties are joined and voices numbered."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from counterpane.model.piece import KeySignature, Measure, Pitch

Layer = tuple[int, int]
"""Which staff a line of notes belongs to (1 is the top one) and its layer there."""


@dataclass(frozen=True, slots=True)
class Head:
    """One written notehead; onset and duration in quarters. `staff` is the one that it is drawn on.

    `grace` is None for a measured note, else "slashed" or "unslashed". `group` is the id of the chord that it
    is part of, or its own.
    """

    id: str
    group: str
    staff: int
    layer: Layer
    measure: int
    onset: Fraction
    duration: Fraction
    pitch: Pitch
    grace: str | None = None
    articulations: tuple[str, ...] = ()


@dataclass(frozen=True)
class Staff:
    """What the score says of one staff: the part it belongs to, the part's name, and whether it has pitches."""

    number: int
    part: str
    label: str
    percussion: bool


@dataclass(frozen=True)
class WrittenScore:
    """Everything that was read from the notation.

    `ties` maps a head to the head that continues it; `ornaments` and `fermatas` are by head.
    """

    staves: tuple[Staff, ...]
    measures: tuple[Measure, ...]
    key_signatures: tuple[KeySignature, ...]
    heads: tuple[Head, ...]
    ties: dict[str, str]
    ornaments: dict[str, tuple[str, ...]]
    fermatas: frozenset[str]
    tempo: float | None
    warnings: tuple[str, ...] = field(default=())
