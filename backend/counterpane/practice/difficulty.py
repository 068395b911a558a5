"""How hard a passage is, 1 to 10, for one hand or both, with its parts explained in sentences.

Definition. The score is 1 + 9 times the weighted sum of the parts (`difficulty_parts`), held at 10. Together is
never easier than the harder hand. The weights are this project's own.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from operator import attrgetter

from counterpane.errors import CounterpaneError
from counterpane.model.piece import Hand, Hands, Piece
from counterpane.model.practice import Difficulty
from counterpane.practice.difficulty_parts import Excerpt, Part, hand_parts, together_parts
from counterpane.wording import Catalogue, catalogue

_WEIGHTS = {
    "speed": 0.55,
    "leaps": 0.15,
    "span": 0.1,
    "accidentals": 0.15,
    "independence": 0.2,
    "positions": 0.25,
    "ornaments": 0.15,
}
_HANDS = ("right", "left", "both")
FALLBACK_TEMPO = 72.0  # quarters a minute, where neither the teacher nor the score gives a goal


def goal_tempo(piece: Piece, tempo: float | None = None) -> float:
    """Return the tempo in quarters a minute: the one that is asked for, else the score's, else 72."""
    chosen = tempo if tempo is not None else piece.tempo or FALLBACK_TEMPO
    if not 10 <= chosen <= 400:
        raise CounterpaneError(f"a goal tempo of quarter = {chosen:g} cannot be practised: choose 10 to 400")
    return chosen


def difficulty(
    piece: Piece,
    first_measure: int,
    last_measure: int,
    hands: Hands,
    tempo: float | None = None,
    *,
    language: str = "en",
) -> Difficulty:
    """Return how hard the measures as printed (both included) are at `tempo` quarters a minute.

    Raises `CounterpaneError` for a hand, a measure or a tempo that does not exist.
    """
    if hands not in _HANDS:
        raise CounterpaneError(f"there is no hand {hands!r}: choose right, left or both")
    by_hand = difficulties(piece, measure_indices(piece, first_measure, last_measure), tempo, language=language)
    return by_hand[_HANDS.index(hands)]


def measure_indices(piece: Piece, first_measure: int, last_measure: int) -> range:
    """Return the indices of the measures printed `first_measure` to `last_measure`, both included."""
    numbers = [measure.number for measure in piece.measures]
    for number in (first_measure, last_measure):
        if number not in numbers:
            raise CounterpaneError(f"there is no measure {number}: choose {numbers[0]} to {numbers[-1]}")
    first = numbers.index(first_measure)
    last = len(numbers) - 1 - numbers[::-1].index(last_measure)
    if first > last:
        raise CounterpaneError(
            f"measure {first_measure} comes after measure {last_measure}: give the earlier first"
        )
    return range(first, last + 1)


def difficulties(
    piece: Piece, indices: range, tempo: float | None = None, *, language: str = "en"
) -> tuple[Difficulty, Difficulty, Difficulty]:
    """Return the difficulty of the right hand, the left hand and both, in measures given by index."""
    measures = piece.measures[indices.start : indices.stop]
    start, end = measures[0].onset, measures[-1].end
    first, last = (bisect_left(piece.notes, bound, key=attrgetter("onset")) for bound in (start, end))
    excerpt = Excerpt(piece, measures, piece.notes[first:last])
    goal = goal_tempo(piece, tempo)
    words = catalogue("practice", language)
    right, left = (hand_parts(excerpt, hand, goal) for hand in _both())
    alone = [_weigh(parts, words) for parts in (right, left)]
    together = _weigh(together_parts(excerpt, goal, right, left), words)
    hardest = max(together.score, alone[0].score, alone[1].score)
    return alone[0], alone[1], Difficulty(hardest, together.parts)


def _both() -> tuple[Hand, Hand]:
    return "right", "left"


def _weigh(parts: Sequence[Part], words: Catalogue) -> Difficulty:
    total = sum(_WEIGHTS[part.name] * part.value for part in parts)
    return Difficulty(
        round(min(10.0, 1 + 9 * total), 1),
        tuple((part.name, round(part.value, 3), _sentence(part, words)) for part in parts),
    )


def _sentence(part: Part, words: Catalogue) -> str:
    if part.name == "speed":
        return words.say("difficulty.speed", number=f"{part.number:.1f}")
    if part.name == "independence":
        return words.say("difficulty.independence", number=round(100 * part.number))
    number = int(part.number)
    form = {0: "none", 1: "one"}.get(number, "many")
    return words.say(f"difficulty.{part.name}.{form}", number=number)
