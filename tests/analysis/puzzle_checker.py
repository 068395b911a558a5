"""An independent checker of puzzles: it answers each one from what was composed and from the notes alone.

Where and how the subject is stated is known, because the piece was composed with it; everything else is read off
the notes by other code than the analysis. Only where a sequence, a cadence or a section lies is taken from the
analysis, since the question is about that place.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

from counterpane.model.analysis import Analysis, Cadence, Puzzle, Section, Sequence
from counterpane.model.piece import Note
from tests.analysis.compositions import Composition


@dataclass(frozen=True)
class Entry:
    """One statement as it was composed."""

    notes: tuple[Note, ...]
    hand: str
    inverted: bool
    shortened: bool

    @property
    def onset(self) -> Fraction:
        return self.notes[0].onset


def entries_of(composition: Composition) -> list[Entry]:
    """Return the composed statements in time order, the right hand first."""
    subject = composition.subject
    length = subject.end.offset - subject.start.offset
    found = []
    for planted in composition.planted:
        line = composition.piece.voice_notes(planted.voice)
        notes = tuple(n for n in line if planted.onset <= n.onset <= planted.onset + length)
        shortened = planted.kind in ("head", "tail")
        found.append(Entry(notes, planted.hand, planted.form == "inverted", shortened))
    return sorted(found, key=lambda entry: (entry.onset, entry.hand == "left"))


class Checker:
    """Answers the puzzles of one piece."""

    def __init__(self, composition: Composition, analysis: Analysis) -> None:
        self.piece = composition.piece
        self.analysis = analysis
        self.entries = entries_of(composition)

    def wrong(self, puzzle: Puzzle) -> str:
        """Return what is wrong with a puzzle, or nothing."""
        expected = self._expected(puzzle)
        if isinstance(expected, str):
            return expected
        if puzzle.kind.startswith("tap"):
            return self._wrong_taps(puzzle, [set(group) for group in expected])
        return "" if expected == puzzle.answer else f"{expected} expected, {puzzle.answer} given"

    def _wrong_taps(self, puzzle: Puzzle, expected: list[set[str]]) -> str:
        assert isinstance(puzzle.answer, tuple)
        if len(puzzle.groups) != len(expected):
            return f"{len(expected)} places expected, {len(puzzle.groups)} given"
        flat = [head for group in puzzle.groups for head in group]
        if len(flat) != len(set(flat)):
            return "a tap would count for two places"
        for answer, group, right in zip(puzzle.answer, puzzle.groups, expected, strict=True):
            if answer not in group or not set(group) <= right:
                return f"{group} is not within {right}"
        return ""

    def _expected(self, puzzle: Puzzle) -> Any:
        answer: Callable[[Puzzle], Any] = getattr(self, "_" + puzzle.kind.replace("-", "_"))
        return answer(puzzle)

    def _complete(self, first: int, last: int) -> list[Entry]:
        measures = self.piece.measures
        start = next(m.onset for m in measures if m.number == first)
        end = next(m.end for m in measures if m.number == last)
        return [entry for entry in self.entries if start <= entry.onset < end and not entry.shortened]

    def _asked(self, puzzle: Puzzle) -> list[Entry]:
        return self._complete(puzzle.first_measure, puzzle.last_measure)

    def _tap_entries(self, puzzle: Puzzle) -> list[set[str]]:
        return [{note.id for note in entry.notes} for entry in self._asked(puzzle)]

    def _count_entries(self, puzzle: Puzzle) -> int:
        return len(self._asked(puzzle))

    def _tap_inverted(self, puzzle: Puzzle) -> list[set[str]]:
        return [{note.id for note in entry.notes} for entry in self._asked(puzzle) if entry.inverted]

    def _count_inverted(self, puzzle: Puzzle) -> int:
        return sum(entry.inverted for entry in self._asked(puzzle))

    def _choose_leads(self, puzzle: Puzzle) -> int:
        first, *others = self._asked(puzzle)
        assert not others or others[0].onset > first.onset, "two hands begin together"
        return ("right", "left").index(first.hand)

    def _choose_answers(self, _puzzle: Puzzle) -> int:
        return ("right", "left").index(self.entries[1].hand)

    def _choose_more(self, puzzle: Puzzle) -> int:
        hands = [entry.hand for entry in self._asked(puzzle)]
        right, left = hands.count("right"), hands.count("left")
        return 2 if right == left else int(left > right)

    def _choose_direction(self, puzzle: Puzzle) -> int | str:
        entry = self._entry_at(puzzle)
        return entry if isinstance(entry, str) else int(entry.inverted)

    def _choose_extent(self, puzzle: Puzzle) -> int | str:
        entry = self._entry_at(puzzle)
        return entry if isinstance(entry, str) else int(entry.shortened)

    def _entry_at(self, puzzle: Puzzle) -> Entry | str:
        """Return the entry at the place that the question names in words."""
        match = re.search(
            r"The (right|left) hand states the subject from measure (\d+), beat ([\d.]*\d)", puzzle.question
        )
        assert match is not None
        hand, measure, beat = match[1], int(match[2]), float(match[3])
        for entry in self.entries:
            place = self.piece.place(entry.onset)
            if (entry.hand, place.measure) == (hand, measure) and abs(float(place.beat) - beat) < 0.01:
                return entry
        return "nothing was composed to begin there"

    def _tap_shortened(self, puzzle: Puzzle) -> list[set[str]]:
        measures = range(puzzle.first_measure, puzzle.last_measure + 1)
        inside = [e for e in self.entries if self.piece.place(e.onset).measure in measures]
        return [{note.id for note in entry.notes} for entry in inside if entry.shortened]

    def _tap_highest(self, puzzle: Puzzle) -> list[set[str]] | str:
        hand = "right" if "right hand" in puzzle.question else "left"
        measures = {m.number: m for m in self.piece.measures}
        start, end = measures[puzzle.first_measure].onset, measures[puzzle.last_measure].end
        notes = [n for n in self.piece.notes if n.hand == hand and start <= n.onset < end]
        top = sorted(notes, key=lambda n: n.midi)[-2:]
        return "two notes are highest" if top[0].midi == top[1].midi else [{top[1].id}]

    def _sequence(self, puzzle: Puzzle) -> Sequence:
        return next(q for q in self.analysis.sequences if set(q.notes) == set(puzzle.rests_on))

    def _choose_sequence(self, puzzle: Puzzle) -> int:
        """Judge by the mean pitch of the copies, which the analysis does not look at."""
        means = [
            sum(self.piece.by_id[note].pitch.diatonic for note in copy) / len(copy)
            for copy in self._sequence(puzzle).copies
        ]
        falls = [b < a for a, b in pairwise(means)]
        assert len(set(falls)) == 1, "the copies do not move one way"
        return int(falls[0])

    def _count_sequence(self, puzzle: Puzzle) -> int | str:
        """Count from the first copy on how often the model comes again a constant step away."""
        sequence = self._sequence(puzzle)
        model = sorted((self.piece.by_id[note] for note in sequence.copies[0]), key=lambda n: n.onset)
        second = sorted((self.piece.by_id[note] for note in sequence.copies[1]), key=lambda n: n.onset)
        period = second[0].onset - model[0].onset
        count = 1
        while self._agreement(model, count * period, count * sequence.step) >= 0.6:
            count += 1
        before = self._agreement(model, -period, -sequence.step)
        return count if before < 0.5 else "the sequence had begun before"

    def _agreement(self, model: list[Note], later: Fraction, steps: int) -> float:
        struck = {(n.voice, n.onset, n.pitch.diatonic) for n in self.piece.notes}
        return sum((n.voice, n.onset + later, n.pitch.diatonic + steps) in struck for n in model) / len(model)

    def _choose_sequence_hands(self, puzzle: Puzzle) -> int:
        hands = {self.piece.by_id[note].hand for note in puzzle.rests_on}
        return 2 if len(hands) == 2 else ("right", "left").index(hands.pop())

    def _choose_key(self, puzzle: Puzzle) -> int:
        """Return the offered key whose scale holds most of the notes and whose tonic and fifth sound longest."""
        measures = {m.number: m for m in self.piece.measures}
        start, end = measures[puzzle.first_measure].onset, measures[puzzle.last_measure].end
        notes = [n for n in self.piece.notes if start <= n.onset < end]
        return max(range(4), key=lambda index: _fit(puzzle.choices[index], notes))

    def _tap_cadence(self, puzzle: Puzzle) -> list[set[str]] | str:
        cadence = self._cadence(puzzle)
        struck = [n for n in self.piece.notes if n.onset == cadence.place.offset]
        lowest = min(struck, key=lambda n: n.midi)
        return [{lowest.id}] if lowest.hand == "left" else "the right hand is lowest"

    def _cadence(self, puzzle: Puzzle) -> Cadence:
        inside = [
            c for c in self.analysis.cadences if puzzle.first_measure <= c.place.measure <= puzzle.last_measure
        ]
        assert len(inside) == 1, "the question could mean two cadences"
        return inside[0]

    def _choose_cadence(self, puzzle: Puzzle) -> int:
        """Hold the bass of the arrival against the kind: tonic, fifth degree, sixth degree."""
        cadence = self._cadence(puzzle)
        bass = min((n for n in self.piece.notes if n.onset == cadence.place.offset), key=lambda n: n.midi)
        degree = (bass.midi - _TONICS[cadence.key.split()[0]]) % 12
        assert isinstance(puzzle.answer, int)
        kind = ("authentic", "half", "deceptive", "plagal")[puzzle.answer]
        fits = {"authentic": {0}, "half": {7}, "deceptive": {8, 9}, "plagal": {0}}
        return int(puzzle.answer) if degree in fits[kind] else -1

    def _section(self, label: str) -> Section:
        return next(s for s in self.analysis.sections if s.label == label)

    def _pair(self, puzzle: Puzzle) -> tuple[Section, Section]:
        match = re.search(r"-([A-Z]\d+)-([A-Z]\d+)$", puzzle.id)
        assert match is not None
        return self._section(match[1]), self._section(match[2])

    def _facts(self, first: Section, second: Section) -> dict[str, bool]:
        """Say of each sentence that a choice may hold whether it is true of the two sections."""
        a, b = (self._complete(s.first_measure, s.last_measure) for s in (first, second))
        ways = [self._way(section) for section in (first, second)]
        lengths = [s.last_measure - s.first_measure for s in (first, second)]

        def form(entries: list[Entry]) -> str:
            forms = {entry.inverted for entry in entries}
            return "none" if len(forms) != 1 else "inverted" if forms.pop() else "upright"

        return {
            "the sequence rises where it fell": ways == ["falling", "rising"],
            "the sequence falls where it rose": ways == ["rising", "falling"],
            "the statements are turned upside down": (form(a), form(b)) == ("upright", "inverted"),
            "the statements are upright again": (form(a), form(b)) == ("inverted", "upright"),
            "the other hand begins": bool(a and b) and a[0].hand != b[0].hand,
            "the subject is stated more often": len(b) > len(a),
            "the subject is stated less often": len(b) < len(a),
            "it is in another key": first.key != second.key,
            "it is longer": lengths[1] > lengths[0],
            "it is shorter": lengths[1] < lengths[0],
        }

    def _way(self, section: Section) -> str:
        """Return the way of the sequence with most statements, heard three times or filling the section."""
        length = section.end.offset - section.start.offset
        marking = [
            sequence
            for sequence in self.analysis.sequences
            if sequence.id in section.sequences
            and (sequence.count >= 3 or 4 * (sequence.end.offset - sequence.start.offset) >= 3 * length)
        ]
        if not marking:
            return "none"
        copies = max(marking, key=lambda each: (len(each.statements), len(each.notes))).copies
        first, last = (
            sum(self.piece.by_id[note].pitch.diatonic for note in copy) / len(copy)
            for copy in (copies[0], copies[-1])
        )
        return "rising" if last > first else "falling"

    def _choose_change(self, puzzle: Puzzle) -> int | str:
        facts = self._facts(*self._pair(puzzle))
        true = [index for index, choice in enumerate(puzzle.choices) if facts[choice]]
        return true[0] if len(true) == 1 else f"{len(true)} choices are true"

    def _choose_same(self, puzzle: Puzzle) -> int:
        return int(any(self._facts(*self._pair(puzzle)).values()))

    def _count_more(self, puzzle: Puzzle) -> int:
        first, second = self._pair(puzzle)
        a, b = (self._complete(s.first_measure, s.last_measure) for s in (first, second))
        return len(b) - len(a)


_TONICS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_TONICS |= {f"{name}b": (number - 1) % 12 for name, number in _TONICS.items()} | {
    f"{name}#": (number + 1) % 12 for name, number in _TONICS.items() if len(name) == 1
}
_SCALES = {"major": {0, 2, 4, 5, 7, 9, 11}, "minor": {0, 2, 3, 5, 7, 8, 9, 10, 11}}


def _fit(key: str, notes: list[Note]) -> float:
    """Return the share of the sounding time that lies in a key's scale, by pitch class."""
    tonic, mode = key.split()
    inside = [n.duration for n in notes if (n.midi - _TONICS[tonic]) % 12 in _SCALES[mode]]
    return float(sum(inside) / sum(n.duration for n in notes))
