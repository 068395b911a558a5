"""Puzzles about sequences: which way, how often, in which hands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from counterpane.analysis.puzzles_material import SURE, Material, Question
from counterpane.analysis.texture import notes_begun
from counterpane.model.analysis import Puzzle, Sequence
from counterpane.model.piece import Measure

_DIRECTIONS = ("rising", "falling")
_HANDS = ("right", "left", "both")
_FURTHER_COPY = 1 / 3


def sequence_puzzles(material: Material) -> Iterator[Puzzle]:
    """Return the puzzles about every sequence that is sure and that no other one overlaps."""
    sequences = material.analysis.sequences
    sharing = Counter(index for sequence in sequences for index in _measures(material, sequence))
    for sequence in sequences:
        # Where two sequences share a measure, "the sequence" could mean either.
        if sequence.confidence < SURE["sequence"] or any(sharing[i] > 1 for i in _measures(material, sequence)):
            continue
        yield _choose(material, sequence)
        yield _hands(material, sequence)
        if sequence.count >= 3 and not _goes_on(material, sequence):
            yield _count(material, sequence)


def _measures(material: Material, sequence: Sequence) -> range:
    """Return the indices of the measures that a sequence lies in."""
    first, last = _stretch(material, sequence)
    return range(first.index, last.index + 1)


def _question(material: Material, kind: str, level: int, sequence: Sequence) -> Question:
    stretch = _stretch(material, sequence)
    hint = [copy[0] for copy in sequence.copies]
    return Question(kind, level, sequence.id, stretch, sequence.notes, material.heads(hint))


def _stretch(material: Material, sequence: Sequence) -> tuple[Measure, Measure]:
    """Return the first and last measure; one that only its last note reaches, on the first beat, is left out."""
    at = material.piece.measure_at
    first, last = at(sequence.start.offset), at(sequence.end.offset)
    if sequence.end.offset == last.onset and last.index > first.index:
        last = material.piece.measures[last.index - 1]
    return first, last


def _where(material: Material, sequence: Sequence) -> str:
    return material.measures(*_stretch(material, sequence))


def _choose(material: Material, sequence: Sequence) -> Puzzle:
    say = material.words.say
    steps = abs(sequence.step)
    degrees = say("choose-sequence.degrees_one" if steps == 1 else "choose-sequence.degrees_many", count=steps)
    way = say("choose-sequence.higher" if sequence.step > 0 else "choose-sequence.lower")
    direction = say(f"word.{sequence.direction}")
    return _question(material, "choose-sequence", 1, sequence).ask(
        say("choose-sequence.question", measures=_where(material, sequence)),
        say("choose-sequence.explanation", degrees=degrees, way=way, direction=direction),
        _DIRECTIONS.index(sequence.direction),
        choices=[say(f"word.{each}") for each in _DIRECTIONS],
    )


def _hands(material: Material, sequence: Sequence) -> Puzzle:
    say = material.words.say
    hands = "both" if len(sequence.hands) == 2 else sequence.hands[0]
    return _question(material, "choose-sequence-hands", 2, sequence).ask(
        say("choose-sequence-hands.question", measures=_where(material, sequence)),
        say("choose-sequence-hands.explanation", hand=material.hand(hands)),
        _HANDS.index(hands),
        choices=[material.hand(each) for each in _HANDS],
    )


def _count(material: Material, sequence: Sequence) -> Puzzle:
    say = material.words.say
    places = [material.piece.place(_onset(material, copy)) for copy in sequence.copies]
    listed = "; ".join(material.place(place) for place in places)
    return _question(material, "count-sequence", 2, sequence).ask(
        say("count-sequence.question", place=material.place(places[0]), measures=_where(material, sequence)),
        say("count-sequence.explanation", count=sequence.count, list=listed),
        sequence.count,
    )


def _onset(material: Material, copy: tuple[str, ...]) -> Fraction:
    return min(material.piece.by_id[note].onset for note in copy)


def _goes_on(material: Material, sequence: Sequence) -> bool:
    """Whether part of a further copy stands before the first or after the last, so that a count is open."""
    onsets = [_onset(material, copy) for copy in sequence.copies]
    period = onsets[1] - onsets[0]
    model = [material.piece.by_id[note] for note in sequence.copies[0]]
    begin, end = min(note.onset for note in model), max(note.end for note in model)

    def copied(times: int) -> float:
        by = times * period
        around = notes_begun(material.piece, begin + by, end + by)
        struck = {(note.voice, note.onset, note.pitch.diatonic) for note in around}
        moved = [(n.voice, n.onset + by, n.pitch.diatonic + times * sequence.step) for n in model]
        return sum(note in struck for note in moved) / len(moved)

    return copied(-1) >= _FURTHER_COPY or copied(sequence.count) >= _FURTHER_COPY
