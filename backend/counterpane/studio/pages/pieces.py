"""A piece as it is listed, engraved, corrected and seen as a quilt."""

from __future__ import annotations

from dataclasses import dataclass

from counterpane.model.piece import Hand, Hands
from counterpane.model.practice import Decision, Ladder, Mark, Patch, PatchKind, PatchState


@dataclass(frozen=True)
class PieceCard:
    """A piece in the studio. `hands_guessed` asks the teacher to look; `warnings` are sentences."""

    id: int
    title: str
    composer: str
    key: str
    meter: str
    measures: int
    tempo: float | None
    hands_guessed: bool
    warnings: tuple[str, ...]
    added_at: str


@dataclass(frozen=True)
class EngravedPage:
    """Engraved notation as SVG, one string a page; ids of notes and measures are those of the analysis.

    `measures` are the ids of the measures shown.
    """

    svgs: tuple[str, ...]
    measures: tuple[str, ...]
    first_measure: int
    last_measure: int
    hands: Hands


@dataclass(frozen=True)
class QuiltPatch:
    """A patch (or seam) as the quilt shows it: how each hand and both stand, and when it is due again."""

    id: str
    kind: PatchKind
    first_measure: int
    last_measure: int
    difficulty: float
    right: PatchState
    left: PatchState
    both: PatchState
    due: str | None
    attempts: int


@dataclass(frozen=True)
class QuiltSection:
    """A section with its patches, in the order of the piece."""

    label: str
    kind: str
    time: int
    key: str
    first_measure: int
    last_measure: int
    patches: tuple[QuiltPatch, ...]


@dataclass(frozen=True)
class QuiltPage:
    """The picture of a whole piece as patches; `due` are ids of patches and seams to return to today."""

    piece: PieceCard
    student_id: int
    goal_tempo: float
    sections: tuple[QuiltSection, ...]
    seams: tuple[QuiltPatch, ...]
    due: tuple[str, ...]


@dataclass(frozen=True)
class StepProgress:
    """How a step of a ladder stands: repetitions that met its goals, and whether it is done."""

    step_id: str
    met: int
    wanted: int
    done: bool


@dataclass(frozen=True)
class Picture:
    """An SVG picture with its text equivalent."""

    kind: str
    svg: str
    text: str


@dataclass(frozen=True)
class AttemptCard:
    """One attempt in a list; `accuracy` is a share 0 to 1, None when it was self-judged."""

    id: int
    patch_id: str
    step_id: str
    hands: Hands
    started_at: str
    seconds: float
    source: str
    tempo: float
    accuracy: float | None
    met_goals: bool
    findings: tuple[str, ...]


@dataclass(frozen=True)
class DrillMeasure:
    """A measure as the Desk counts it; `onset`, `length` and `padding` (what a pickup lacks) in quarter notes."""

    id: str
    number: int
    onset: float
    length: float
    beats: int
    beat_unit: int
    padding: float


@dataclass(frozen=True)
class DrillNote:
    """A note as the Desk plays and follows it; `onset` and `duration` in quarter notes, `heads` as engraved."""

    id: str
    heads: tuple[str, ...]
    hand: Hand
    midi: int
    onset: float
    duration: float
    ornaments: tuple[str, ...]


@dataclass(frozen=True)
class DrillGrace:
    """A grace note before the note `principal`."""

    id: str
    hand: Hand
    midi: int
    principal: str
    slashed: bool


@dataclass(frozen=True)
class DrillPage:
    """A patch with its ladder, the step to take now, what the Desk plays from, and the latest attempts.

    Attempts are on this patch, newest first; `over_time` draws those with the hands that played last.
    """

    piece: PieceCard
    patch: Patch
    ladder: Ladder
    progress: tuple[StepProgress, ...]
    current_step_id: str
    goal_tempo: float
    attempts: tuple[AttemptCard, ...]
    measures: tuple[DrillMeasure, ...]
    notes: tuple[DrillNote, ...]
    graces: tuple[DrillGrace, ...]
    over_time: Picture | None


@dataclass(frozen=True)
class DecisionsPage:
    """How each section shall sound, beside what the analysis invites, and the signs it puts into the score."""

    decisions: tuple[Decision, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class PuzzleCard:
    """A puzzle with everything the page needs to pose, check and explain it without the network.

    `answered` is the latest answer's outcome for the student, None when it has not been tried; `side_by_side`
    are the measures of two sections to be seen and heard beside each other.
    """

    id: str
    section: str | None
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
    side_by_side: tuple[tuple[int, int], ...]
    answered: bool | None


@dataclass(frozen=True)
class FingeringPage:
    """A finger 1 to 5 for each note by its id; `written` are the notes whose finger is the teacher's."""

    fingers: dict[str, int]
    written: tuple[str, ...]


@dataclass(frozen=True)
class PuzzleOutcome:
    """Whether an answer was right, and the explanation with the notes to mark."""

    right: bool
    answer: tuple[str, ...] | int
    explanation: str
    rests_on: tuple[str, ...]
