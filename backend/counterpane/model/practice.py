"""What is to be practised: patches, seams and the ladders of drills on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from counterpane.model.piece import Hands

Level = Literal["early", "intermediate", "advanced"]
PatchKind = Literal["patch", "seam", "pair", "whole"]
StepKind = Literal["listen", "puzzle", "play"]


@dataclass(frozen=True)
class Difficulty:
    """How hard a passage is, 1 to 10, and the parts that make it so, each 0 to 1 with a sentence."""

    score: float
    parts: tuple[tuple[str, float, str], ...]


@dataclass(frozen=True)
class Patch:
    """What is practised as one: whole measures, first to last as printed, both hands' patches lined up.

    `id` is stable for one piece and level ("p1", "p2", …; seams "p1+p2"). `section` is the label of the
    section that it lies in, or of the first one that it touches.
    """

    id: str
    kind: PatchKind
    section: str
    first_measure: int
    last_measure: int
    difficulty_right: Difficulty
    difficulty_left: Difficulty
    difficulty: Difficulty
    reason: str


@dataclass(frozen=True)
class Goals:
    """When a step counts as done: shares 0 to 1, times in milliseconds; None where it is not asked."""

    accuracy: float | None
    evenness_ms: float | None
    togetherness_ms: float | None


@dataclass(frozen=True)
class Step:
    """One drill of a ladder. `tempo_share` is the fraction of the goal tempo."""

    id: str
    kind: StepKind
    hands: Hands
    heard: Literal["none", "other", "both"]
    tempo_share: float
    repetitions: int
    variation: str | None
    goals: Goals
    title: str
    instruction: str
    step_up: str
    step_back: str


@dataclass(frozen=True)
class Ladder:
    """The graded drills of one patch at one level."""

    level: Level
    kind: PatchKind
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Passage:
    """What one attempt is measured against: measures as printed (both included), hands, tempo in quarters/min."""

    first_measure: int
    last_measure: int
    hands: Hands
    tempo: float
