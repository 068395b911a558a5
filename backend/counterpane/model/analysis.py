"""What is found in a score. Everything carries the note ids it rests on, a confidence 0 to 1 and a reason.

`start` and `end` of a group of notes are the places of its first and last note, both included.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from counterpane.model.piece import Hand, Place

Form = Literal["upright", "inverted", "retrograde", "augmented", "diminished"]
Extent = Literal["complete", "shortened", "extended"]
Likeness = Literal["exact", "diatonic", "tonal", "varied"]
Direction = Literal["rising", "falling"]
CadenceKind = Literal["authentic", "half", "deceptive", "plagal"]


@dataclass(frozen=True)
class Subject:
    """The opening idea that the piece is made from, or a candidate for it."""

    hand: Hand
    voice: int
    start: Place
    end: Place
    notes: tuple[str, ...]
    confidence: float
    reason: str


@dataclass(frozen=True)
class Statement:
    """One occurrence of the subject in one voice.

    `missing` says which part a shortened statement lacks; `extra_notes` how many notes an extended one runs
    on; `varied_notes` are the ids that differ from the subject; `axis_step` is the transposition in scale
    steps (upright) or the axis of inversion.
    """

    id: str
    hand: Hand
    voice: int
    start: Place
    end: Place
    form: Form
    extent: Extent
    likeness: Likeness
    notes: tuple[str, ...]
    confidence: float
    reason: str
    missing: Literal["head", "tail"] | None = None
    extra_notes: int = 0
    varied_notes: tuple[str, ...] = ()
    axis_step: int = 0


@dataclass(frozen=True)
class Sequence:
    """A model and its copies at a constant step. `count` includes the model; `step` is in scale degrees."""

    id: str
    hands: tuple[Hand, ...]
    start: Place
    end: Place
    count: int
    direction: Direction
    step: int
    notes: tuple[str, ...]
    copies: tuple[tuple[str, ...], ...]
    statements: tuple[str, ...]
    real: bool
    confidence: float
    reason: str


@dataclass(frozen=True)
class KeyOfMeasure:
    """The key heard in one measure, named as "C major" or "A minor"."""

    measure: int
    key: str
    confidence: float


@dataclass(frozen=True)
class Cadence:
    """A point of rest: where its last chord falls, in which key, of which kind."""

    place: Place
    key: str
    kind: CadenceKind
    notes: tuple[str, ...]
    confidence: float
    reason: str


@dataclass(frozen=True)
class Countersubject:
    """What goes with the subject at least twice: one group of note ids an occurrence."""

    occurrences: tuple[tuple[str, ...], ...]
    confidence: float
    reason: str


@dataclass(frozen=True)
class Episode:
    """A stretch in which no voice states the subject."""

    start: Place
    end: Place
    notes: tuple[str, ...]
    reason: str


@dataclass(frozen=True)
class PedalPoint:
    """A held or repeated tone under or over moving parts."""

    hand: Hand
    start: Place
    end: Place
    pitch: str
    notes: tuple[str, ...]
    confidence: float
    reason: str


@dataclass(frozen=True)
class Exchange:
    """Invertible counterpoint: what the two hands played in one stretch returns with the hands exchanged."""

    first_start: Place
    first_end: Place
    second_start: Place
    second_end: Place
    notes: tuple[str, ...]
    confidence: float
    reason: str


@dataclass(frozen=True)
class Section:
    """A stretch with one treatment of the subject, for example "A2": kind A, the second time.

    Sections are whole measures: `start` is the first, `end` the last place of their notes.
    """

    label: str
    kind: str
    time: int
    start: Place
    end: Place
    first_measure: int
    last_measure: int
    key: str
    statements: tuple[str, ...]
    sequences: tuple[str, ...]
    confidence: float
    reason: str


@dataclass(frozen=True)
class CountCell:
    """One cell of the count table: what one kind of section holds at one time."""

    kind: str
    time: int
    section: str
    statements: int
    upright: int
    inverted: int
    right: int
    left: int
    key: str
    sequence: Direction | None


@dataclass(frozen=True)
class Difference:
    """One short fact about how a section differs from an earlier one of its kind."""

    kind: str
    text: str


@dataclass(frozen=True)
class Comparison:
    """Two sections of one kind, aligned; labels of both and what differs."""

    first: str
    second: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True)
class Peak:
    """The highest note of the piece or of a section, and the rising sequence that leads to it, if one does."""

    place: Place
    pitch: str
    hand: Hand
    note: str
    section: str | None
    sequence: str | None
    reason: str


@dataclass(frozen=True)
class Suggestion:
    """A proposal about style that the analysis invites; `decision` is the teacher's, None while it is open."""

    id: str
    place: Place
    end: Place
    kind: Literal["grow", "ease", "separate", "balance", "arrive"]
    text: str
    reason: str
    notes: tuple[str, ...]
    decision: Literal["accept", "edit"] | None = None


@dataclass(frozen=True)
class Puzzle:
    """A question about how the piece is made, with an answer that can be checked on the score.

    `answer` depends on `kind`: note ids to tap (kinds that start with "tap"), a number ("count"), or the
    index of a choice. `groups` are the acceptable groups of note ids where one tap in each is asked.
    `side_by_side` are the measures of two sections that are to be seen and heard beside each other.
    """

    id: str
    level: int
    kind: str
    question: str
    choices: tuple[str, ...]
    answer: tuple[str, ...] | int
    groups: tuple[tuple[str, ...], ...]
    hint: tuple[str, ...]
    explanation: str
    first_measure: int
    last_measure: int
    rests_on: tuple[str, ...]
    side_by_side: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Analysis:
    """All answers about one piece; `warnings` say what could not be answered and why."""

    key: str
    subject: Subject | None
    no_subject_reason: str
    alternatives: tuple[Subject, ...]
    statements: tuple[Statement, ...]
    countersubject: Countersubject | None
    episodes: tuple[Episode, ...]
    pedal_points: tuple[PedalPoint, ...]
    exchanges: tuple[Exchange, ...]
    sequences: tuple[Sequence, ...]
    keys: tuple[KeyOfMeasure, ...]
    cadences: tuple[Cadence, ...]
    sections: tuple[Section, ...]
    count_table: tuple[CountCell, ...]
    comparisons: tuple[Comparison, ...]
    peak: Peak | None
    section_peaks: tuple[Peak, ...]
    suggestions: tuple[Suggestion, ...]
    puzzles: tuple[Puzzle, ...]
    warnings: tuple[str, ...] = ()
