"""Two-part pieces in which sequences are planted, and pieces that only look as if they had some.

Everything follows from the seed. Times are in sixteenths; pitches are scale steps in the key of the signature.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from random import Random

from counterpane.model.piece import STEPS, Hand, KeySignature, Measure, Note, Piece, Pitch

METERS = ((4, 4), (3, 4), (2, 4), (6, 8), (3, 8), (2, 2))
CELLS = {
    4: ((4,), (2, 2), (1, 1, 1, 1), (2, 1, 1), (1, 1, 2), (3, 1)),
    6: ((2, 2, 2), (4, 2), (1,) * 6, (2, 1, 1, 2)),
}
MOVES = (1, -1, 1, -1, 2, -2, 3, -3, 4, -4, 0)

Tone = tuple[int, int, int]


@dataclass(frozen=True)
class Planted:
    """One sequence as it was planted: hands, onsets of its first and after its last copy in quarters."""

    hands: frozenset[Hand]
    start: Fraction
    end: Fraction
    count: int
    step: int
    ending: str


@dataclass
class Draft:
    """A piece in the making: tones (onset, length, step) of each hand, all up to the same time."""

    random: Random
    meter: tuple[int, int]
    fifths: int
    hands: dict[Hand, list[Tone]] = field(default_factory=lambda: {"right": [], "left": []})
    planted: list[Planted] = field(default_factory=list)
    now: int = 0

    @property
    def beat(self) -> int:
        """Length of the beat in sixteenths."""
        return 6 if self.meter[1] == 8 else 4

    @property
    def measure(self) -> int:
        """Length of a measure in sixteenths."""
        return self.meter[0] * 16 // self.meter[1]

    def piece(self) -> Piece:
        """Return the draft as a piece, the last measure filled up."""
        count = -(-self.now // self.measure)
        length = Fraction(self.measure, 4)
        measures = tuple(Measure(f"m{i}", i, i + 1, i * length, length, *self.meter) for i in range(count))
        notes = [
            Note(
                f"{hand}{i}",
                hand,
                1 if hand == "right" else 2,
                Fraction(on, 4),
                Fraction(size, 4),
                self._pitch(step),
            )
            for hand, tones in self.hands.items()
            for i, (on, size, step) in enumerate(tones)
        ]
        notes.sort(key=lambda note: (note.onset, note.hand != "right", note.midi))
        return Piece("", "", "", measures, (KeySignature(Fraction(0), self.fifths),), tuple(notes))

    def _pitch(self, step: int) -> Pitch:
        octave, index = divmod(step, 7)
        sharps, flats = "FCGDAEB"[: max(0, self.fifths)], "BEADGCF"[: max(0, -self.fifths)]
        name = STEPS[index]
        return Pitch(name, (name in sharps) - (name in flats), octave)


def compose(seed: int, sequences: int = 4) -> tuple[Piece, tuple[Planted, ...]]:
    """Return a piece of free counterpoint with sequences planted in it."""
    random = Random(seed)
    draft = Draft(random, random.choice(METERS), random.randint(-4, 4))
    add_free(draft, draft.measure * random.randint(1, 3))
    for _ in range(sequences):
        add_free(draft, random.choice((0, 0, draft.beat, 2 * draft.beat, draft.beat // 2)))
        add_sequence(draft)
        add_free(draft, draft.measure * random.randint(1, 3) + -draft.now % draft.measure)
    return draft.piece(), tuple(draft.planted)


def compose_without(seed: int) -> Piece:
    """Return a piece of scales, ostinati, broken chords and free counterpoint, without any sequence."""
    random = Random(seed)
    draft = Draft(random, random.choice(METERS), random.randint(-4, 4))
    makers = (add_free, add_scales, add_ostinato, add_broken_chords, add_repeated_notes)
    for _ in range(8):
        random.choice(makers)(draft, draft.measure * random.randint(2, 4))
    return draft.piece()


def rhythm(draft: Draft, length: int) -> list[int]:
    """Return note lengths that fill `length`, cell by cell."""
    sizes: list[int] = []
    while sum(sizes) < length:
        left = length - sum(sizes)
        cell = draft.random.choice(CELLS[draft.beat]) if left >= draft.beat else (left,)
        sizes += cell
    return sizes


def walk(draft: Draft, hand: Hand, start: int, sizes: list[int], first: int | None = None) -> list[Tone]:
    """Return tones of those lengths that move freely about the middle of the hand."""
    centre = 36 if hand == "right" else 22
    step = draft.random.randint(centre - 4, centre + 4) if first is None else first
    tones = []
    for size in sizes:
        tones.append((start, size, step))
        start += size
        step += draft.random.choice(MOVES)
        if abs(step - centre) > 9:
            step += 7 if step < centre else -7
    return tones


def add_free(draft: Draft, length: int) -> None:
    """Add free counterpoint in both hands."""
    for hand, tones in draft.hands.items():
        tones += walk(draft, hand, draft.now, rhythm(draft, length))
    draft.now += length


def add_sequence(draft: Draft) -> None:
    """Plant a sequence: model, step, copies, hands and the way it ends by chance."""
    random = draft.random
    period = random.choice([p for p in (draft.beat, 2 * draft.beat, draft.measure, 2 * draft.measure) if p <= 32])
    both = random.random() < 0.5
    least = 2 if period >= draft.measure and (both or period > draft.measure) else 3
    step = random.choice((1, -1, -1, 2, -2, 3, -3, 4, -4) if least == 3 else (1, -1, -1, 2, -2))
    count = random.randint(least, max(least, min(6, 1 + 12 // abs(step), 128 // period)))
    hands: list[Hand] = ["right", "left"] if both else [random.choice(["right", "left"])]
    ending = random.choice(("whole", "whole", "incomplete", "altered")) if count > 2 else "whole"
    start = draft.now
    for hand, tones in draft.hands.items():
        if hand in hands:
            tones += _copies(draft, model(draft, hand, period, step * (count - 1)), period, step, count, ending)
        else:
            tones += walk(draft, hand, start, rhythm(draft, period * count))
    draft.now += period * count
    draft.planted.append(
        Planted(frozenset(hands), Fraction(start, 4), Fraction(draft.now, 4), count, step, ending)
    )


def model(draft: Draft, hand: Hand, period: int, travel: int) -> list[Tone]:
    """Return a model that is no scale, no broken chord and no repetition of a shorter figure.

    One in four begins with a rest.
    """
    middle = (36 if hand == "right" else 22) - travel // 2
    while True:
        tones = walk(draft, hand, 0, rhythm(draft, period), draft.random.randint(middle - 2, middle + 2))
        steps = [step for _, _, step in tones]
        moves = {b - a for a, b in pairwise(steps)}
        if len(tones) > 4 and draft.random.random() < 0.25:
            tones = tones[1:]
        if len(tones) >= 3 and len(moves) >= 2 and moves & {1, -1} and len(set(steps)) >= 3:
            return tones


def _copies(draft: Draft, first: list[Tone], period: int, step: int, count: int, ending: str) -> list[Tone]:
    tones = [
        (draft.now + copy * period + on, size, tone + copy * step)
        for copy in range(count)
        for on, size, tone in first
    ]
    inner, last = tones[: -len(first)], tones[-len(first) :]
    if ending == "altered":
        for index in draft.random.sample(range(1, len(last)), k=max(1, len(last) // 4)):
            on, size, tone = last[index]
            last[index] = (on, size, tone + draft.random.choice((-2, -1, 1, 2)))
    if ending == "incomplete":
        kept = last[: max(3, len(last) * 5 // 8)]
        left = draft.now + count * period - (kept[-1][0] + kept[-1][1])
        rest = [left] if left else []
        last = kept + [
            (kept[-1][0] + kept[-1][1], size, kept[-1][2] + draft.random.choice((-5, 5))) for size in rest
        ]
    return inner + last


def add_scales(draft: Draft, length: int) -> None:
    """Add scales up and down in one hand over long notes in the other."""
    one: Hand = draft.random.choice(["right", "left"])
    size = draft.random.choice((1, 2))
    way = draft.random.choice((1, -1))
    turn = draft.random.randint(6, 12)
    for hand, tones in draft.hands.items():
        if hand == one:
            steps = [abs((i % (2 * turn)) - turn) for i in range(length // size)]
            low = 32 if hand == "right" else 16
            tones += [
                (draft.now + i * size, size, low + way * s + (turn if way < 0 else 0)) for i, s in enumerate(steps)
            ]
        else:
            beats = [draft.measure] * (length // draft.measure)
            tones += walk(draft, hand, draft.now, beats)
    draft.now += length


def add_ostinato(draft: Draft, length: int) -> None:
    """Add one figure in one hand, repeated at the same pitch, under or over free counterpoint."""
    one: Hand = draft.random.choice(["right", "left"])
    figure = walk(draft, one, 0, rhythm(draft, draft.measure))
    for hand, tones in draft.hands.items():
        if hand == one:
            for copy in range(length // draft.measure):
                tones += [(draft.now + copy * draft.measure + on, size, step) for on, size, step in figure]
        else:
            tones += walk(draft, hand, draft.now, rhythm(draft, length))
    draft.now += length


def add_broken_chords(draft: Draft, length: int) -> None:
    """Add broken chords, low-high-middle-high or upward, one chord a measure, under free counterpoint."""
    pattern = draft.random.choice(((0, 4, 2, 4), (0, 2, 4, 7), (0, 2, 4, 2)))
    draft.hands["right"] += walk(draft, "right", draft.now, rhythm(draft, length))
    for measure in range(length // draft.measure):
        root = draft.random.choice((21, 24, 25, 26, 22))
        for i in range(draft.measure // 2):
            on = draft.now + measure * draft.measure + 2 * i
            draft.hands["left"].append((on, 2, root + pattern[i % len(pattern)]))
    draft.now += length


def add_repeated_notes(draft: Draft, length: int) -> None:
    """Add repeated notes that climb a scale, one beat a step, over long notes."""
    for hand, tones in draft.hands.items():
        if hand == "right":
            size = 2 if draft.beat == 6 else draft.random.choice((1, 2))
            a = draft.beat // size
            tones += [(draft.now + i * size, size, 33 + i // a % 8) for i in range(length // size)]
        else:
            tones += walk(draft, hand, draft.now, [draft.measure] * (length // draft.measure))
    draft.now += length
