"""What puzzles are made from: the sure part of an analysis, and the words for places, hands and keys.

A question is asked only about what the analysis is sure of. The least confidence by kind of evidence is in the
table `SURE`; whatever touches something less sure is not asked.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from operator import add, sub
from typing import TypeVar

from counterpane.analysis.sections import CLOSING
from counterpane.analysis.texture import begun_between, notes_begun
from counterpane.model.analysis import Analysis, Cadence, KeyOfMeasure, Puzzle, Section, Statement
from counterpane.model.analysis import Sequence as SequenceFound
from counterpane.model.piece import GraceNote, Hand, Measure, Note, Piece, Place
from counterpane.wording import Catalogue

_T = TypeVar("_T")

SURE = {
    "statement": 0.75,
    "varied statement": 0.95,
    "sequence": 0.65,
    "key": 0.8,
    "cadence": 0.75,
    "section": 0.5,
}
WAYS = ("upright", "inverted")
_TAP_NOTES = 3
_NEARLY = 0.7


@dataclass(frozen=True)
class Stretch:
    """A section or the whole piece: whole measures by index, both included."""

    name: str
    where: str
    first: Measure
    last: Measure
    section: Section | None = None

    def part(self, ordered: Sequence[_T], onset: Callable[[_T], Fraction]) -> tuple[_T, ...]:
        """Return what begins in it, of things in the order of their onsets (in quarters)."""
        return begun_between(ordered, self.first.onset, self.last.end, onset)


@dataclass(frozen=True)
class Material:
    """A piece, its analysis and the wording."""

    piece: Piece
    analysis: Analysis
    words: Catalogue

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """The sections in order, then the whole piece."""
        sections = tuple(self._section(section) for section in self.analysis.sections)
        measures = self.piece.measures
        return (*sections, Stretch("piece", self.words.say("where.piece"), measures[0], measures[-1]))

    def _section(self, section: Section) -> Stretch:
        first = self.piece.measure_at(section.start.offset)
        last = self.piece.measure_at(section.end.offset)
        key = "where.closing" if section.label == CLOSING else "where.section"
        where = self.words.say(key, label=section.label, measures=self.measures(first, last))
        return Stretch(section.label, where, first, last, section)

    def measures(self, first: Measure, last: Measure) -> str:
        """Return "measures 3 to 4"."""
        key = "where.measure" if first.number == last.number else "where.measures"
        return self.words.say(key, first=first.number, last=last.number)

    def place(self, place: Place) -> str:
        """Return "measure 3, beat 2.5"; a whole beat is given without a point, thirds to two places."""
        beat = f"{float(place.beat):.2f}".rstrip("0").rstrip(".")
        return self.words.say("where.place", measure=place.measure, beat=beat)

    def hand(self, hand: str) -> str:
        """Return the words for a hand."""
        return self.words.say(f"word.{hand}")

    def key(self, key: str) -> str:
        """Return the words for a key such as "Bb major"."""
        return self.words.say(f"key.{key}")

    def times(self, count: int) -> str:
        """Return "once" or "4 times"."""
        return self.words.say("times.one" if count == 1 else "times.many", count=count)

    def begun(self, stretch: Stretch) -> tuple[Statement, ...]:
        """Return the statements that begin in a stretch, in time order, the right hand first."""
        return stretch.part(self._in_time_order, lambda each: each.start.offset)

    @cached_property
    def _in_time_order(self) -> list[Statement]:
        return sorted(
            self.analysis.statements, key=lambda each: (each.start.offset, each.hand == "left", each.voice)
        )

    def entries(self, stretch: Stretch) -> tuple[Statement, ...] | None:
        """Return the complete statements that begin in a stretch, or None when they could be counted otherwise."""
        found = self.begun(stretch)
        sure = all(self.counts_once(each) for each in found)
        return found if sure and not stretch.part(self._nearly_stated, lambda onset: onset) else None

    @cached_property
    def _nearly_stated(self) -> list[Fraction]:
        """Onsets, in order, of what has the subject's rhythm and most of its pitches, but is no statement.

        Somebody could count these, so nothing is counted around them.
        """
        subject = self.analysis.subject
        if subject is None:
            return []
        stated = {note for each in self.analysis.statements for note in each.notes}
        model = [self.piece.by_id[note] for note in subject.notes]
        lines = (self.piece.voice_notes(voice) for voice in self.piece.voices)
        return sorted(
            window[0].onset
            for line in lines
            for window in near_copies(model, line)
            if sum(note.id in stated for note in window) * 2 < len(window)
        )

    def counts_once(self, statement: Statement) -> bool:
        """Whether everybody would count a statement, and once.

        A shortened one, or one that differs toward its end, may be counted or not; one that runs on for long may
        be heard as two; one that differs in several notes may be no statement at all.
        """
        if statement.form not in WAYS or statement.extent == "shortened" or self._runs_on(statement):
            return False
        if not statement.varied_notes:
            return statement.confidence >= SURE["statement"]
        toward_end = statement.notes[-(len(statement.notes) // 3) :]
        one = len(statement.varied_notes) == 1 and statement.varied_notes[0] not in toward_end
        return one and statement.confidence >= SURE["varied statement"]

    def _runs_on(self, statement: Statement) -> bool:
        subject = self.analysis.subject
        return subject is not None and 2 * statement.extra_notes >= len(subject.notes)

    def listed(self, statements: Iterable[Statement]) -> str:
        """Return the places of statements as a list."""
        return "; ".join(
            self.words.say("word.entry", hand=self.hand(each.hand), place=self.place(each.start))
            for each in statements
        )

    def beginning(self, statement: Statement) -> tuple[str, ...]:
        """Return the heads that count as a tap on the beginning of a statement: those of its first notes."""
        return self.heads(statement.notes[:_TAP_NOTES])

    def heads(self, notes: Iterable[str]) -> tuple[str, ...]:
        """Return the written noteheads of notes, by id."""
        return tuple(head for note in notes for head in (self.piece.by_id[note].heads or (note,)))

    def sequences(self, stretch: Stretch) -> tuple[SequenceFound, ...] | None:
        """Return the sequences of a section, or None when one of them is not sure."""
        if stretch.section is None:
            return None
        found = self.sequences_named(stretch.section.sequences)
        return None if any(each.confidence < SURE["sequence"] for each in found) else tuple(found)

    def statements_named(self, names: Iterable[str]) -> list[Statement]:
        """Return the statements with these ids, in the order of the analysis."""
        return _named(self._statement_at, self.analysis.statements, names)

    def sequences_named(self, names: Iterable[str]) -> list[SequenceFound]:
        """Return the sequences with these ids, in the order of the analysis."""
        return _named(self._sequence_at, self.analysis.sequences, names)

    @cached_property
    def _statement_at(self) -> dict[str, int]:
        return {each.id: at for at, each in enumerate(self.analysis.statements)}

    @cached_property
    def _sequence_at(self) -> dict[str, int]:
        return {each.id: at for at, each in enumerate(self.analysis.sequences)}

    def cadences_between(self, first: Measure, last: Measure) -> tuple[Cadence, ...]:
        """Return the cadences that fall within the measures from `first` to `last`, in time order."""
        return begun_between(self._cadences, first.onset, last.end, lambda each: each.place.offset)

    @cached_property
    def _cadences(self) -> list[Cadence]:
        return sorted(self.analysis.cadences, key=lambda each: each.place.offset)

    def key_of(self, stretch: Stretch) -> str | None:
        """Return the key that at least two thirds of a stretch surely are in, or None."""
        numbers = {measure.number for measure in self.piece.measures[stretch.first.index : stretch.last.index + 1]}
        keys = [each for number in numbers for each in self._keys_of_measure.get(number, ())]
        sure = Counter(each.key for each in keys if each.confidence >= SURE["key"])
        best, times = next(iter(sure.most_common(1)), (None, 0))
        return best if best is not None and 3 * times >= 2 * len(keys) else None

    @cached_property
    def _keys_of_measure(self) -> dict[int, list[KeyOfMeasure]]:
        """Keys by the measure's printed number, which the endings of a repeat may share."""
        keys: dict[int, list[KeyOfMeasure]] = defaultdict(list)
        for each in self.analysis.keys:
            keys[each.measure].append(each)
        return keys

    def notes_in(self, stretch: Stretch, hand: Hand | None = None) -> list[Note]:
        """Return the notes that begin in a stretch, of one hand or both."""
        notes = notes_begun(self.piece, stretch.first.onset, stretch.last.end)
        return [note for note in notes if hand in (None, note.hand)]

    def graces_in(self, stretch: Stretch) -> tuple[GraceNote, ...]:
        """Return the grace notes that belong before notes of a stretch."""
        return stretch.part(self._graces, lambda grace: grace.onset)

    @cached_property
    def _graces(self) -> list[GraceNote]:
        return sorted(self.piece.graces, key=lambda grace: grace.onset)


@dataclass(frozen=True)
class Question:
    """A puzzle in the making: everything but its wording's common parts."""

    kind: str
    level: int
    name: str
    stretch: tuple[Measure, Measure]
    rests_on: Sequence[str]
    hint: Sequence[str]
    side_by_side: Sequence[tuple[int, int]] = ()

    def ask(
        self,
        question: str,
        explanation: str,
        answer: tuple[str, ...] | int,
        *,
        choices: Sequence[str] = (),
        groups: Sequence[tuple[str, ...]] = (),
    ) -> Puzzle:
        """Return the puzzle."""
        return Puzzle(
            id=f"{self.kind}-{self.name}",
            level=self.level,
            kind=self.kind,
            question=sentence(question),
            choices=tuple(choices),
            answer=answer,
            groups=tuple(groups),
            hint=tuple(self.hint),
            explanation=sentence(explanation),
            first_measure=self.stretch[0].number,
            last_measure=self.stretch[1].number,
            rests_on=tuple(dict.fromkeys(self.rests_on)),
            side_by_side=tuple(self.side_by_side),
        )


def near_copies(model: Sequence[Note], line: Sequence[Note]) -> Iterator[Sequence[Note]]:
    """Return the stretches of a line in the rhythm of `model` with most of its pitches, upright or turned over."""
    rhythm, gaps = _gaps(model), _gaps(line)
    wanted, steps = ([note.pitch.diatonic for note in notes] for notes in (model, line))
    for start in range(len(line) - len(model) + 1):
        if gaps[start : start + len(rhythm)] == rhythm:
            # Adding the steps of a figure turned over gives a constant, as subtracting them does upright.
            for shift in (sub, add):
                shifts = Counter(map(shift, steps[start : start + len(model)], wanted))
                if max(shifts.values()) >= _NEARLY * len(model):
                    yield line[start : start + len(model)]
                    break


def _gaps(notes: Sequence[Note]) -> list[tuple[int, int]]:
    """Return the times from each note to the next, in quarters, as ratios: these compare faster than fractions."""
    return [(later.onset - note.onset).as_integer_ratio() for note, later in pairwise(notes)]


def _named(place: dict[str, int], found: Sequence[_T], names: Iterable[str]) -> list[_T]:
    return [found[at] for at in sorted({place[name] for name in names if name in place})]


def sentence(text: str) -> str:
    """Return a text that begins with a capital, since filled-in words may stand first."""
    return text[:1].upper() + text[1:]


def notes_of(found: Iterable[Statement | SequenceFound]) -> Iterator[str]:
    """Return the note ids of statements or sequences, one after the other."""
    return (note for each in found for note in each.notes)


def signs(piece: Piece, notes: Iterable[str]) -> list[int]:
    """Return for each two notes in a row whether the line rises (1), falls (-1) or stays (0)."""
    steps = [piece.by_id[note].pitch.diatonic for note in notes]
    return [(b > a) - (b < a) for a, b in pairwise(steps)]
