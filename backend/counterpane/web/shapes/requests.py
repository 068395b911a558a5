"""Request bodies, paths and queries: every field bounded, so that a bad request is one sentence, never a crash."""

from __future__ import annotations

from datetime import date as Day  # noqa: N812 - a field called date hides the name
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, RootModel, StringConstraints

from counterpane.model.piece import Hands
from counterpane.model.practice import Leads, Level, Shape, Touch
from counterpane.studio.pages.people import Language
from counterpane.studio.pages.practice import Source

Nickname = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=40)]
Key = Annotated[str, StringConstraints(min_length=1, max_length=80, pattern=r"^[\x20-\x7e]+$")]
Text = Annotated[str, StringConstraints(strip_whitespace=True, max_length=2000)]
Pin = Annotated[str, StringConstraints(pattern=r"^[0-9]{4,8}$")]
RowId = Annotated[int, Field(ge=1, le=2**53)]
MeasureNumber = Annotated[int, Field(ge=0, le=100_000)]
Tempo = Annotated[float, Field(ge=10, le=400)]
RawEvent = tuple[
    Annotated[float, Field(ge=0, le=1e13)],
    Annotated[int, Field(ge=0, le=255)],
    Annotated[int, Field(ge=0, le=127)],
    Annotated[int, Field(ge=0, le=127)],
]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


ClientId = Annotated[str, StringConstraints(pattern=r"^[0-9A-Za-z-]{8,64}$")]


class StudentPath(_Strict):
    """A student in the address."""

    student_id: RowId


class PiecePath(_Strict):
    """A piece in the address."""

    piece_id: RowId


class PatchPath(_Strict):
    """A piece and one of its patches in the address."""

    piece_id: RowId
    patch_id: Key


class AttemptPath(_Strict):
    """An attempt in the address."""

    attempt_id: RowId


class LinkPath(_Strict):
    """A link in the address."""

    link_id: RowId


class PairingPath(_Strict):
    """A pairing's code in the address."""

    code: Annotated[str, StringConstraints(pattern=r"^[0-9]{6}$")]


class StudentQuery(_Strict):
    """Whom it is about; a student may leave it out."""

    student: RowId | None = None


class TodayQuery(StudentQuery):
    """The day it is about; the server's day when left out."""

    date: Day | None = None


class PuzzleQuery(StudentQuery):
    """Puzzles of one section, or all."""

    section: Key | None = None


class AttemptsQuery(StudentQuery):
    """Attempts on one patch, or all; the newest `limit`."""

    patch: Key | None = None
    limit: Annotated[int, Field(ge=1, le=500)] = 100


class WeeksQuery(_Strict):
    """How many weeks back, this one included."""

    weeks: Annotated[int, Field(ge=1, le=104)] = 4


class DaysQuery(_Strict):
    """How many days ahead, today included."""

    days: Annotated[int, Field(ge=1, le=60)] = 14


class EngravingQuery(_Strict):
    """Which measures and hands to engrave, how wide in CSS pixels, and how large the staves (100 is usual).

    With a student, the decisions made for the piece are written into the score.
    """

    student: RowId | None = None

    first: MeasureNumber | None = None
    last: MeasureNumber | None = None
    hands: Hands = "both"
    width: Annotated[int, Field(ge=200, le=2400)] = 390
    size: Annotated[int, Field(ge=40, le=250)] = 100


class UploadQuery(_Strict):
    """The name of the score file: its ending says which format it is in."""

    name: Annotated[str, StringConstraints(min_length=3, max_length=200, pattern=r"^[^/\\\x00-\x1f]+$")]


class PassphraseBody(_Strict):
    """The teacher's passphrase."""

    passphrase: Annotated[str, StringConstraints(min_length=1, max_length=1024)]


class LinkSignInBody(_Strict):
    """The token of a link, and the PIN where one was chosen."""

    token: Annotated[str, StringConstraints(min_length=1, max_length=200)]
    pin: Pin | None = None


class PinBody(_Strict):
    """A new PIN, and the current one where there is one."""

    pin: Pin
    current_pin: Pin | None = None


# 0: the lesson is on its day alone.
Weeks = Annotated[int, Field(ge=0, le=4)]


class NewStudentBody(_Strict):
    """A new student: a nickname and how they practise."""

    nickname: Nickname
    level: Level = "early"
    language: Language = "en"
    minutes: Annotated[int, Field(ge=5, le=120)] = 20
    rest_days: Annotated[list[Annotated[int, Field(ge=0, le=6)]], Field(max_length=6)] = []
    lesson_date: Day | None = None
    lesson_every_weeks: Weeks = 1
    note: Text = ""


class StudentChangeBody(_Strict):
    """What changes about a student; what is left out stays. A `note` is what the teacher asks this week."""

    nickname: Nickname | None = None
    level: Level | None = None
    language: Language | None = None
    minutes: Annotated[int, Field(ge=5, le=120)] | None = None
    rest_days: Annotated[list[Annotated[int, Field(ge=0, le=6)]], Field(max_length=6)] | None = None
    lesson_date: Day | None = None
    lesson_every_weeks: Weeks | None = None
    note: Text | None = None


class NewLinkBody(_Strict):
    """For whom the link is: the student, a new parent, or a parent who is known from a brother or sister.

    With `pin_required` the link opens on one device; further devices need the PIN that was chosen there.
    """

    role: Literal["student", "parent"]
    parent_id: RowId | None = None
    parent_nickname: Nickname | None = None
    pin_required: bool = True


class EraseBody(_Strict):
    """The student's nickname again, so that nobody is erased by a slip."""

    nickname: Nickname


class AssignmentBody(_Strict):
    """One piece to work on; no sections means all of it, no tempo means the piece's own."""

    piece_id: RowId
    sections: Annotated[list[Key], Field(max_length=200)] = []
    goal_tempo: Tempo | None = None


class AssignmentsBody(RootModel[Annotated[list[AssignmentBody], Field(max_length=30)]]):
    """All pieces a student works on, in order."""


class CorrectionBody(BaseModel):
    """One correction of the analysis; which further keys belong to a kind is said in DEVELOPERS.md."""

    model_config = ConfigDict(extra="allow", allow_inf_nan=False)

    kind: Key


class CorrectionsBody(RootModel[Annotated[list[CorrectionBody], Field(max_length=500)]]):
    """All corrections of a piece; they replace the earlier ones."""


class FingeringBody(_Strict):
    """The teacher's fingers by note id, 1 (thumb) to 5; they replace the earlier ones, the rest is proposed."""

    fingers: Annotated[dict[Key, Annotated[int, Field(ge=1, le=5)]], Field(max_length=20_000)]


class DecisionBody(_Strict):
    """What is decided for one section; None leaves it open."""

    section: Key
    shape: Shape | None = None
    touch: Touch | None = None
    leads: Leads | None = None


class DecisionsBody(_Strict):
    """The decisions for the sections that are named; others stay.

    `made_at` is when they were made, where they waited for the network: an older decision never replaces a newer
    one. Sending them twice is harmless, so `client_id` is taken and not needed.
    """

    decisions: Annotated[list[DecisionBody], Field(max_length=200)]
    made_at: AwareDatetime | None = None
    client_id: ClientId | None = None


class PassageBody(_Strict):
    """What an attempt is measured against."""

    first_measure: MeasureNumber
    last_measure: MeasureNumber
    hands: Hands
    tempo: Tempo


class SelfJudgementBody(_Strict):
    """Three taps: 1 not yet, 2 nearly, 3 yes."""

    notes: Annotated[int, Field(ge=1, le=3)]
    rhythm: Annotated[int, Field(ge=1, le=3)]
    flow: Annotated[int, Field(ge=1, le=3)]


class AttemptBody(_Strict):
    """One attempt. `client_id` is made by the page and makes sending it twice harmless.

    `raw_events` are [time_ms, status, data1, data2] as the device gave them; times from any zero.
    """

    client_id: ClientId
    piece_id: RowId
    patch_id: Key
    step_id: Key
    passage: PassageBody
    started_at: AwareDatetime
    seconds: Annotated[float, Field(ge=0, le=7200)] = 0
    source: Source
    raw_events: Annotated[list[RawEvent], Field(max_length=60_000)] = []
    self_judgement: SelfJudgementBody | None = None
    app_version: Annotated[str, StringConstraints(max_length=40)] = ""


class PuzzleAnswerBody(_Strict):
    """An answer to a puzzle: note ids that were tapped, a number, or the index of a choice.

    `patch_id` says which patch the puzzle opened; without it, the first patch that holds the puzzle's measures.
    """

    client_id: ClientId
    piece_id: RowId
    puzzle_id: Key
    patch_id: Key | None = None
    answer: Annotated[list[Key], Field(max_length=500)] | Annotated[int, Field(ge=-1, le=100_000)]
    milliseconds: Annotated[int, Field(ge=0, le=86_400_000)] = 0
    answered_at: AwareDatetime | None = None


class PairingEventsBody(_Strict):
    """Key events from the computer at the piano, [time_ms, status, data1, data2] each, in order."""

    events: Annotated[list[RawEvent], Field(min_length=1, max_length=2000)]
