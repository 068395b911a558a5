"""The rules of Parncutt et al. (1997) for the difficulty of a keyboard fingering, as one cost for three notes.

Definition. Each of twelve rules gives points of difficulty to one note, to two notes in a row or to three. A
fingering costs the sum of all points; the easiest fingering is the one that costs least.

Conventions. Fingers are 1 (thumb) to 5. Intervals are in semitones, rising ones positive, for the right hand; the
left hand is its mirror image. A key is black or white by its pitch class.

Source. R. Parncutt, J. A. Sloboda, E. F. Clarke, M. Raekallio, P. Desain, "An ergonomic model of keyboard
fingering for melodic fragments", Music Perception 14 (1997), 341-382: table of spans and rules 1 to 12. Both
were written down from memory and not compared with the print.

Differences from the source:
- one finger may play two different keys in a row, at `SAME_FINGER` points on top of the stretch (the source
  excludes it), and every interval is possible, so that leaps too have an answer;
- across a rest of an eighth note or more the rules for two and three notes are silent: the hand has time to move;
- two fingers that play one key in turn are a change of finger and cost `CHANGE_ON_KEY` points (the source has
  no rule for repeated notes).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

FINGERS = (1, 2, 3, 4, 5)
BLACK_CLASSES = frozenset({1, 3, 6, 8, 10})
SAME_FINGER = 10.0
CHANGE_ON_KEY = 2.0


class Span(NamedTuple):
    """Semitones between two fingers of the right hand: practical, comfortable and relaxed, least and most."""

    min_prac: int
    min_comf: int
    min_rel: int
    max_rel: int
    max_comf: int
    max_prac: int


SPANS: Mapping[tuple[int, int], Span] = {
    (1, 2): Span(-5, -3, 1, 5, 8, 10),
    (1, 3): Span(-4, -2, 3, 7, 10, 12),
    (1, 4): Span(-3, -1, 5, 9, 12, 14),
    (1, 5): Span(-1, 1, 7, 10, 13, 15),
    (2, 3): Span(1, 1, 1, 2, 3, 5),
    (2, 4): Span(1, 1, 3, 4, 5, 7),
    (2, 5): Span(2, 2, 5, 6, 8, 10),
    (3, 4): Span(1, 1, 1, 2, 2, 4),
    (3, 5): Span(1, 1, 3, 4, 5, 7),
    (4, 5): Span(1, 1, 1, 2, 3, 5),
}


def is_black(midi: int) -> bool:
    """Say whether the key of a MIDI note number is black."""
    return midi % 12 in BLACK_CLASSES


def span(first: int, second: int) -> Span:
    """Return the span from finger `first` to finger `second`, with sign; one finger spans nothing."""
    if first == second:
        return Span(0, 0, 0, 0, 0, 0)
    if first < second:
        return SPANS[first, second]
    down = SPANS[second, first]
    return Span(-down.max_prac, -down.max_comf, -down.max_rel, -down.min_rel, -down.min_comf, -down.min_prac)


def span_points(first: int, second: int, interval: int) -> float:
    """Rules 1 to 3 (stretch, small span, large span) for `interval` semitones from `first` to `second`."""
    if first == second:
        return 0.0 if interval == 0 else SAME_FINGER + 2.0 * abs(interval)
    limits = span(first, second)
    stretch = 2.0 * (max(0, interval - limits.max_comf) + max(0, limits.min_comf - interval))
    per_semitone = 1.0 if 1 in (first, second) else 2.0
    # Small and large are meant from thumb to little finger, whichever finger plays first.
    beyond = max(0, interval - limits.max_rel) + max(0, limits.min_rel - interval)
    return stretch + per_semitone * beyond + (CHANGE_ON_KEY if interval == 0 else 0.0)


def pair_points(first: int, second: int, interval: int, black: tuple[bool, bool]) -> float:
    """Rules 1 to 3, 8, 9 and 12 for two notes in a row; `black` says it of both keys."""
    points = span_points(first, second, interval)
    if (first, second) == (3, 4):  # rule 8, three to four
        points += 1.0
    if {first, second} == {3, 4} and black[(first, second).index(4)] and not black[(first, second).index(3)]:
        points += 1.0  # rule 9, four on black
    return points + _thumb_passing(first, second, interval, black)


def _thumb_passing(first: int, second: int, interval: int, black: tuple[bool, bool]) -> float:
    """Rule 12: a finger passes over the thumb, or the thumb under a finger."""
    if first == second or 1 not in (first, second):
        return 0.0
    passes = interval < 0 if first == 1 else interval > 0
    if not passes:
        return 0.0
    if black[0] == black[1]:
        return 1.0
    thumb_black = black[0] if first == 1 else black[1]
    return 3.0 if thumb_black else 0.0


def note_points(finger: int, black: bool, before: bool | None, after: bool | None) -> float:
    """Rules 6, 10 and 11 for one note; `before` and `after` say whether its neighbours' keys are black."""
    points = 1.0 if finger in (4, 5) else 0.0
    if black and finger == 1:
        points += 1.0
    if black and finger in (1, 5):
        points += 2.0 * ((before is False) + (after is False))
    return points


def position_change(fingers: tuple[int, int, int], first: int, second: int) -> tuple[float, int]:
    """Rules 4 and 5: points for a change of hand position over three notes, and how many semitones it moves.

    `first` and `second` are the two intervals. Two points for a full change (the thumb plays the middle note,
    which lies between the others, and the outer interval is not practical), one for a half change, none without.
    """
    outer = first + second
    limits = span(fingers[0], fingers[2])
    size = max(0, outer - limits.max_comf) + max(0, limits.min_comf - outer)
    if size == 0:
        return 0.0, 0
    between = first * second > 0
    impractical = not limits.min_prac <= outer <= limits.max_prac
    return (2.0 if fingers[1] == 1 and between and impractical else 1.0), size


@cache
def pair_table(interval: int, black: tuple[bool, bool]) -> NDArray[np.float64]:
    """Return the points of rules for two notes as a 5 by 5 array (first finger, second finger)."""
    return np.array([[pair_points(a, b, interval, black) for b in FINGERS] for a in FINGERS])


@cache
def triple_table(first: int, second: int) -> NDArray[np.float64]:
    """Return the points of rules 4, 5 and 7 for three notes as a 5 by 5 by 5 array."""
    return np.array(
        [[[_triple_points((a, b, c), first, second) for c in FINGERS] for b in FINGERS] for a in FINGERS]
    )


def _triple_points(fingers: tuple[int, int, int], first: int, second: int) -> float:
    points, size = position_change(fingers, first, second)
    weak = 1.0 if set(fingers) == {3, 4, 5} else 0.0  # rule 7, three-four-five
    return points + size + weak
