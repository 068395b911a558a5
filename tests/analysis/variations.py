"""What becomes of a subject in a composed piece: one function a kind, from its tones to those of a statement.

A tone is (start, length, scale step), start and length in sixteenth notes.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

Tone = tuple[int, int, int]
Variation = Callable[[Random, list[Tone]], list[Tone]]

# Fewer notes than this are never planted as a shortened statement.
_LEAST = 5


def plain(_: Random, tones: list[Tone]) -> list[Tone]:
    """Leave it as it is."""
    return tones


def tonal(random: Random, tones: list[Tone]) -> list[Tone]:
    """Move the head, or one note of it, by a step."""
    by = random.choice((-1, 1))
    turn = random.choice((0, 0, 1, 2))
    if turn:
        return [(t, n, s + (by if column >= turn else 0)) for column, (t, n, s) in enumerate(tones)]
    moved = random.choice((0, 1, 2))
    return [(t, n, s + (by if column == moved else 0)) for column, (t, n, s) in enumerate(tones)]


def varied(random: Random, tones: list[Tone]) -> list[Tone]:
    """Change one or two notes within."""
    count = 2 if len(tones) >= 9 and random.random() < 0.5 else 1
    moved = set(random.sample(range(1, len(tones) - 1), count))
    return [
        (t, n, s + (random.choice((-2, -1, 1, 2)) if column in moved else 0))
        for column, (t, n, s) in enumerate(tones)
    ]


def first(random: Random, tones: list[Tone]) -> list[Tone]:
    """Begin on another note."""
    (t, n, s), *rest = tones
    return [(t, n, s + random.choice((-3, -2, 2, 3))), *rest]


def last(random: Random, tones: list[Tone]) -> list[Tone]:
    """End on another note, of another length."""
    *rest, (t, n, s) = tones
    return [*rest, (t, random.choice((n, 2, 4)), s + random.choice((-3, -1, 1, 2)))]


def octave(random: Random, tones: list[Tone]) -> list[Tone]:
    """Go on an octave higher."""
    turn = random.randrange(1, len(tones))
    return [(t, n, s + (7 if column >= turn else 0)) for column, (t, n, s) in enumerate(tones)]


def head(random: Random, tones: list[Tone]) -> list[Tone]:
    """Break off before the last notes."""
    return tones[: _part(random, len(tones))]


def tail(random: Random, tones: list[Tone]) -> list[Tone]:
    """Leave out the first notes."""
    return tones[-_part(random, len(tones)) :]


def extended(_: Random, tones: list[Tone]) -> list[Tone]:
    """Go on with the last notes twice more, in sequence."""
    model = tones[-min(4, len(tones) // 2) :]
    move = model[-1][2] - tones[-len(model) - 1][2]
    span = model[-1][0] + model[-1][1] - model[0][0]
    return tones + [(t + span * time, n, s + move * time) for time in (1, 2) for t, n, s in model]


def split(_: Random, tones: list[Tone]) -> list[Tone]:
    """Strike the longest note twice."""
    column = max(range(len(tones)), key=lambda index: tones[index][1])
    t, n, s = tones[column]
    half = n // 2
    twice = [(t, n - half, s), (t + n - half, half, s)] if half else [(t, n, s)]
    return [*tones[:column], *twice, *tones[column + 1 :]]


def tied(_: Random, tones: list[Tone]) -> list[Tone]:
    """Let the first note enter early."""
    (t, n, s), *rest = tones
    return [(t - 2, n + 2, s), *rest] if t >= 2 else tones


def ornamented(random: Random, tones: list[Tone]) -> list[Tone]:
    """Write out a mordent on one or two longer notes, a neighbouring note on shorter ones."""
    long = [index for index, (_, n, _) in enumerate(tones) if n >= 2]
    chosen = set(random.sample(long, min(len(long), random.choice((1, 2)))))
    played: list[Tone] = []
    for index, (t, n, s) in enumerate(tones):
        side = random.choice((-1, 1))
        if index not in chosen:
            played.append((t, n, s))
        elif n == 2:
            played += [(t, 1, s), (t + 1, 1, s + side)]
        else:
            played += [(t, 1, s), (t + 1, 1, s + side), (t + 2, n - 2, s)]
    return played


def _part(random: Random, size: int) -> int:
    """Return how many notes of `size` a shortened statement keeps: about two thirds, two fewer at least."""
    return max(_LEAST, min(size - 2, -(-size * random.choice((60, 70, 80)) // 100)))


VARIATIONS: dict[str, Variation] = {
    "plain": plain,
    "inverted": plain,  # turned upside down before it is varied
    "tonal": tonal,
    "varied": varied,
    "first": first,
    "last": last,
    "octave": octave,
    "head": head,
    "tail": tail,
    "extended": extended,
    "split": split,
    "tied": tied,
    "ornamented": ornamented,
}
# How often each kind is planted: most statements of a piece are plain.
KINDS = (*VARIATIONS, "plain", "plain", "plain", "inverted")
