"""What makes a passage hard, each part 0 to 1 with the value that a sentence about it names.

Definitions (the scales are this project's own, set so that a five-finger tune in even crotchets is near 0 and a
quick two-part invention near the middle; no published scale is claimed):

- speed: attacks a second in the busiest measure at the goal tempo; 1 a second is 0, 10 a second is 1
- leaps: share of melodic steps wider than a fifth (7 semitones); 0 is 0, 30 % is 1
- span: semitones from the lowest to the highest note of a hand; 7 (five fingers) is 0, 24 (two octaves) is 1
- accidentals: share of notes that the key signature does not hold, plus 3 % for each sharp or flat in it; 40 %
  is 1
- independence: mean over the beats of how the two rhythms differ: the same or one hand silent 0, one divides the
  other a half, each strikes where the other does not 1
- positions: changes of hand position a note in the easiest fingering; 30 % is 1
- ornaments: signs and grace notes a measure; 2 a measure is 1
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from counterpane.model.piece import Hand, Measure, Note, Piece
from counterpane.practice.fingering import fingers_of, position_changes
from counterpane.units import quarters_to_ms

PARTS = ("speed", "leaps", "span", "accidentals", "independence", "positions", "ornaments")
_FIFTH = 7
_SHARPS = "FCGDAEB"


class Part(NamedTuple):
    """One part: its name, how much it weighs 0 to 1, and the number that says why."""

    name: str
    value: float
    number: float


class Excerpt(NamedTuple):
    """The measures and notes of a passage, both hands, in time order."""

    piece: Piece
    measures: Sequence[Measure]
    notes: Sequence[Note]

    def hand(self, hand: Hand) -> list[Note]:
        """Return the notes of one hand."""
        return [note for note in self.notes if note.hand == hand]


def scaled(number: float, zero: float, one: float) -> float:
    """Return where `number` lies between `zero` and `one`, held within 0 and 1."""
    return min(1.0, max(0.0, (number - zero) / (one - zero)))


def hand_parts(excerpt: Excerpt, hand: Hand, tempo: float) -> tuple[Part, ...]:
    """Return the parts of one hand (all but independence) at `tempo` quarters a minute."""
    notes = excerpt.hand(hand)
    return (
        _speed(excerpt.measures, notes, tempo),
        _leaps(notes),
        _span(notes),
        _accidentals(excerpt.piece, notes),
        _positions(notes, hand),
        _ornaments(excerpt, notes),
    )


def together_parts(
    excerpt: Excerpt, tempo: float, right: Sequence[Part], left: Sequence[Part]
) -> tuple[Part, ...]:
    """Return the parts of both hands: attacks and ornaments add up, else the harder hand counts."""
    harder = {a.name: max(a, b, key=lambda part: part.value) for a, b in zip(right, left, strict=True)}
    harder["speed"] = _speed(excerpt.measures, excerpt.notes, tempo)
    harder["ornaments"] = _ornaments(excerpt, excerpt.notes)
    harder["independence"] = _independence(excerpt)
    return tuple(harder[name] for name in PARTS)


def _speed(measures: Sequence[Measure], notes: Iterable[Note], tempo: float) -> Part:
    attacks: dict[int, set[Fraction]] = defaultdict(set)
    bounds = iter(measures)
    measure = next(bounds)
    for note in sorted(notes, key=lambda each: each.onset):
        while note.onset >= measure.end:
            measure = next(bounds)
        attacks[measure.index].add(note.onset)
    seconds = {each.index: quarters_to_ms(each.length, tempo) / 1000 for each in measures}
    rate = max((len(struck) / seconds[index] for index, struck in attacks.items()), default=0.0)
    return Part("speed", scaled(rate, 1, 10), rate)


def _lines(notes: Iterable[Note]) -> Iterable[list[Note]]:
    voices: dict[int, list[Note]] = defaultdict(list)
    for note in notes:
        voices[note.voice].append(note)
    return voices.values()


def _leaps(notes: Sequence[Note]) -> Part:
    steps = [abs(b.midi - a.midi) for line in _lines(notes) for a, b in pairwise(line)]
    wide = sum(step > _FIFTH for step in steps)
    return Part("leaps", scaled(wide / max(1, len(steps)), 0, 0.3), wide)


def _span(notes: Sequence[Note]) -> Part:
    pitches = [note.midi for note in notes]
    semitones = max(pitches, default=0) - min(pitches, default=0)
    return Part("span", scaled(semitones, 7, 24), semitones)


def _accidentals(piece: Piece, notes: Sequence[Note]) -> Part:
    foreign = 0
    signs = 0
    for note in notes:
        fifths = signature_at(piece, note.onset)
        signs += abs(fifths)
        foreign += note.pitch.alter != altered_by(fifths, note.pitch.step)
    count = max(1, len(notes))
    return Part("accidentals", scaled(foreign / count + 0.03 * signs / count, 0, 0.4), foreign)


def signature_at(piece: Piece, onset: Fraction) -> int:
    """Return the sharps (positive) or flats (negative) of the key signature in force at `onset`."""
    return next((each.fifths for each in reversed(piece.key_signatures) if each.onset <= onset), 0)


def altered_by(fifths: int, step: str) -> int:
    """Return the alteration in semitones that a key signature gives to a step."""
    if fifths >= 0:
        return int(step in _SHARPS[:fifths])
    return -int(step in _SHARPS[fifths:])


def _positions(notes: Sequence[Note], hand: Hand) -> Part:
    changes = len(position_changes(notes, hand, fingers_of(notes, hand)))
    return Part("positions", scaled(changes / max(1, len(notes)), 0, 0.3), changes)


def _ornaments(excerpt: Excerpt, notes: Sequence[Note]) -> Part:
    ids = {note.id for note in notes}
    signs = sum(len(note.ornaments) for note in notes)
    signs += sum(grace.principal in ids for grace in excerpt.piece.graces)
    return Part("ornaments", scaled(signs / len(excerpt.measures), 0, 2), signs)


def _independence(excerpt: Excerpt) -> Part:
    beats: dict[tuple[int, int], tuple[set[Fraction], set[Fraction]]] = defaultdict(lambda: (set(), set()))
    measures = iter(excerpt.measures)
    measure = next(measures)
    for note in excerpt.notes:
        while note.onset >= measure.end:
            measure = next(measures)
        beat, within = divmod((note.onset - measure.onset + measure.padding) * measure.beat_unit / 4, 1)
        beats[measure.index, beat][note.hand == "left"].add(within)
    differing = [_difference(right, left) for right, left in beats.values()]
    share = sum(differing) / max(1, len(differing))
    return Part("independence", share, sum(each > 0 for each in differing) / max(1, len(differing)))


def _difference(right: set[Fraction], left: set[Fraction]) -> float:
    if not right or not left or right == left:
        return 0.0
    return 0.5 if right < left or left < right else 1.0
