"""What findings are made of: an observation in numbers, before it is put into words.

Weights say what would help most now; they order findings, and mean nothing else. From what stops the music to
what colours it: the wrong piece (100), stumbling at one spot again and again (70 and more), a note misread
everywhere (60), a hand in another octave or a key beside its place (58), stops all over (55), wrong notes all
over (52), one measure's wrong or missing notes (30 to 50), the other hand playing too (45), a rhythm
misunderstood (42 to 55), one hesitation (22 to 50), hands apart (30 to 45), tempo that runs away (30), notes
not even (25), entries not heard (22), faster than asked (20 to 30), a sequence against the plan (20), balance
(18 to 29), touch and shaping (10 to 18), praise (under 10), slips that the last time through put right (4, for
the teacher).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from counterpane.listening.measures.heard import Heard
from counterpane.listening.measures.shape import Measured
from counterpane.listening.measures.thresholds import LENIENCE
from counterpane.listening.troubles import Spot, Trouble
from counterpane.model.analysis import Analysis
from counterpane.model.piece import Hand, Note
from counterpane.model.practice import Decision, Level

Evidence = dict[str, float | int | str]
# What the last time through put right is for the teacher; it stands below all praise.
PUT_RIGHT = 4.0


@dataclass(frozen=True)
class Observation:
    """One thing observed: its kind (a table in drills/findings.*.toml), hand, written onsets and numbers.

    `evidence` is kept with the finding and may be used in the wording; `pitches` are (step, alteration) and are
    filled in as note names of the language.
    """

    kind: str
    start: float
    end: float
    weight: float
    evidence: Evidence
    hand: Hand | None = None
    notes: tuple[str, ...] = ()
    pitches: dict[str, tuple[str, int]] = field(default_factory=dict)


@dataclass(frozen=True)
class Case:
    """Everything known about one attempt, as the observers get it."""

    heard: Heard
    measures: dict[str, Measured]
    troubles: tuple[Trouble, ...]
    spots: tuple[Spot, ...]
    analysis: Analysis
    decisions: tuple[Decision, ...]
    level: Level

    @property
    def lenience(self) -> float:
        """By how much the level stretches a limit."""
        return LENIENCE[self.level]

    @property
    def first(self) -> float:
        """The passage's first written onset."""
        return self.heard.sheet.onsets[0]

    @property
    def last(self) -> float:
        """The passage's last written onset."""
        return self.heard.sheet.onsets[-1]

    def note(self, trouble: Trouble) -> Note:
        """Return the written note of a trouble that has one."""
        assert trouble.note is not None
        return self.heard.sheet.piece.by_id[trouble.note]

    def key(self, trouble: Trouble) -> int:
        """Return the key (MIDI number, as the score would have it) that a trouble with an event struck."""
        assert trouble.event is not None
        return self.heard.performance.notes[trouble.event].midi - self.heard.alignment.transposed_by

    def put_right(self, note: str | None, run: int) -> bool:
        """Tell whether a pass after this one struck the note as it is written."""
        later = (one for one in self.heard.passes if one.run > run and note in one.by_note)
        return any(one.by_note[str(note)].status == "as_written" for one in later)

    def number(self, measure: str, key: str = "value") -> float | None:
        """Return one number of a measure, or None where it was not measured."""
        value = self.measures[measure].get(key)
        return float(value) if isinstance(value, int | float) else None

    def rows(self, measure: str, key: str) -> list[dict[str, object]]:
        """Return a measure's list of rows, empty where there is none."""
        rows = self.measures[measure].get(key)
        return rows if isinstance(rows, list) else []
