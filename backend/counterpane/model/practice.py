"""What is to be practised: patches, seams, the ladders of drills on them, the day's plan and the decisions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from counterpane.model.piece import Hands

Level = Literal["early", "intermediate", "advanced"]
PatchKind = Literal["patch", "seam", "pair", "whole"]
StepKind = Literal["listen", "puzzle", "play"]
PatchState = Literal["new", "in work", "secure", "due"]
ItemKind = Literal["puzzle", "new", "due", "seam", "pair", "whole", "weak"]
Shape = Literal["grow", "fade", "steady"]
Touch = Literal["separate", "joined"]
Leads = Literal["right", "left", "none"]


@dataclass(frozen=True)
class Difficulty:
    """How hard a passage is, 1 to 10, and the parts that make it so, each 0 to 1 with a sentence."""

    score: float
    parts: tuple[tuple[str, float, str], ...]


@dataclass(frozen=True)
class Patch:
    """What is practised as one: whole measures, first to last as printed, both hands' patches lined up.

    `id` is stable for one piece and level ("p1", "p2", …; seams "p1+p2"). `section` is the label of the
    section that it lies in, or of the first one that it touches; `sections` are all that it touches. `quarters`
    is its length in quarter notes; `parts` are the ids of the patches that a seam, a pair or the whole joins.
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
    quarters: float = 0.0
    parts: tuple[str, ...] = ()
    sections: tuple[str, ...] = ()


@dataclass(frozen=True)
class Goals:
    """When a step counts as done: shares 0 to 1, times in milliseconds; None where it is not asked."""

    accuracy: float | None
    evenness_ms: float | None
    togetherness_ms: float | None


@dataclass(frozen=True)
class Step:
    """One drill of a ladder. `tempo_share` is the fraction of the goal tempo.

    It is done after `repetitions` attempts that meet the goals (one after the other where `in_a_row`), and
    `step_back_after` attempts in a row that miss them lead one step back. A step `after_a_night` is not begun on
    the day on which the step before it was done.
    """

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
    step_back_after: int = 3
    in_a_row: bool = False
    after_a_night: bool = False


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


@dataclass(frozen=True)
class AttemptSummary:
    """What the plan needs to know of one attempt, in the order in which attempts were made.

    Shares are 0 to 1, times in milliseconds; None where it was not measured. `self_judged` are the three taps
    (notes, rhythm, flow, each 1 to 3) of an attempt that no instrument heard. `complete` is False when the
    player stopped before the end of the passage.
    """

    piece: str
    patch: str
    step: str
    day: date
    minutes: float
    accuracy: float | None = None
    evenness_ms: float | None = None
    togetherness_ms: float | None = None
    hesitations: int | None = None
    complete: bool = True
    self_judged: tuple[int, int, int] | None = None


@dataclass(frozen=True)
class Assignment:
    """One piece that a student works on: its patches, the goal tempo (quarters a minute) and the level.

    `sections` are the labels of the sections asked for; empty means all of them.
    """

    piece: str
    title: str
    patches: tuple[Patch, ...]
    level: Level
    tempo: float
    sections: tuple[str, ...] = ()


@dataclass(frozen=True)
class Lessons:
    """A lesson on the day `first`, and again every `every_weeks` weeks; 0 stands for that one day alone."""

    first: date
    every_weeks: int = 0


@dataclass(frozen=True)
class PlanSettings:
    """What the teacher set: minutes a day, weekdays without practice (Monday is 0), lessons, wording."""

    minutes: float
    rest_days: frozenset[int] = frozenset()
    lessons: Lessons | None = None
    language: str = "en"


@dataclass(frozen=True)
class PlanItem:
    """One thing to do today, with the reason. A puzzle's `step` is the ladder step that holds it."""

    kind: ItemKind
    piece: str
    title: str
    patch: str
    step: str
    section: str
    hands: Hands
    first_measure: int
    last_measure: int
    tempo: float
    minutes: float
    state: PatchState
    reason: str


@dataclass(frozen=True)
class DayPlan:
    """What to do on one day, within `budget` minutes; `note` is one sentence about the day as a whole."""

    day: date
    budget: float
    items: tuple[PlanItem, ...]
    rest_day: bool
    note: str
    lesson_date: date | None = None

    @property
    def minutes(self) -> float:
        """Minutes that the items take together."""
        return sum(item.minutes for item in self.items)


@dataclass(frozen=True)
class Decision:
    """How one section shall sound: the student's choice, beside what the analysis invites and why.

    `by` says whose word stands ("analysis" as long as nobody chose; the teacher's is final).
    """

    section: str
    first_measure: int
    last_measure: int
    shape: Shape
    touch: Touch
    leads: Leads
    invitation: str = ""
    reason: str = ""
    by: Literal["analysis", "student", "teacher"] = "analysis"


@dataclass(frozen=True)
class Mark:
    """A sign to be written into the score for a decision: ordinary notation, never a new symbol.

    Hairpins ("crescendo", "diminuendo") run over a hand's staff from note `notes[0]` to `notes[-1]`;
    articulations ("staccato", "tenuto") stand at each of `notes`, "slur" joins the first to the last;
    "dynamic" and "words" write `text` at `notes[0]`.
    """

    kind: Literal["crescendo", "diminuendo", "staccato", "tenuto", "slur", "dynamic", "words"]
    hand: Literal["right", "left"]
    notes: tuple[str, ...]
    text: str = ""
