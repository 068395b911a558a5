"""Phrases: how a piece without a subject falls into sections, and which of them begin alike."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from counterpane.analysis.texture import notes_begun
from counterpane.analysis.treatments import closed_measures
from counterpane.model.analysis import Cadence, KeyOfMeasure
from counterpane.model.piece import Piece

_SHORTEST = 2
_ALIKE = 0.6
_COMPARED_MEASURES = 4


def phrase_spans(
    piece: Piece, cadences: tuple[Cadence, ...], keys: tuple[KeyOfMeasure, ...]
) -> tuple[tuple[int, int], ...]:
    """Return first and last measure (indices) of each phrase.

    Phrases end at cadences and repeat signs; a piece without any is cut where a new key stays for two measures.
    """
    count = len(piece.measures)
    ends = set(closed_measures(piece, cadences))
    ends |= {m.index for m in piece.measures if m.repeat_end}
    ends |= {m.index - 1 for m in piece.measures if m.repeat_start and m.index}
    if not ends - {count - 1}:
        ends |= {
            index
            for index in range(1, count - 2)
            if keys[index].key == keys[index - 1].key != keys[index + 1].key == keys[index + 2].key
        }
    spans: list[tuple[int, int]] = []
    first = 0
    for end in sorted(ends | {count - 1}):
        if end - first + 1 >= _SHORTEST or end == count - 1:
            spans.append((first, end))
            first = end + 1
    if len(spans) > 1 and spans[-1][1] - spans[-1][0] + 1 < _SHORTEST:
        spans[-2:] = [(spans[-2][0], spans[-1][1])]
    return tuple(span for span in spans if span[0] <= span[1])


def letters(piece: Piece, spans: tuple[tuple[int, int], ...]) -> tuple[str, ...]:
    """Return a kind for each span, "A" for the first; spans that begin alike share it."""
    figures = [_figure(piece, *span) for span in spans]
    kinds: list[str] = []
    firsts: list[int] = []
    for number, figure in enumerate(figures):
        like = next((k for k in firsts if _likeness(figures[k], figure) >= _ALIKE), None)
        if like is None:
            kinds.append(letter(len(firsts)))
            firsts.append(number)
        else:
            kinds.append(kinds[like])
    return tuple(kinds)


def letter(number: int) -> str:
    """Return "A" for 0 … "Z" for 25, then "AA", "AB" …."""
    turns, rest = divmod(number, 26)
    return (letter(turns - 1) if turns else "") + chr(ord("A") + rest)


def _figure(piece: Piece, first: int, last: int) -> dict[tuple[int, Fraction], int]:
    """Return the moves of the outer voices at the start of a span: voice and time from its start to interval."""
    begin = piece.measures[first].onset
    end = piece.measures[min(last, first + _COMPARED_MEASURES - 1)].end
    moves = {}
    inside = notes_begun(piece, begin, end)
    for voice in {piece.voices[0], piece.voices[-1]}:
        notes = [note for note in inside if note.voice == voice]
        for a, b in pairwise(notes):
            moves[voice, b.onset - begin] = b.pitch.diatonic - a.pitch.diatonic
    return moves


def _likeness(one: dict[tuple[int, Fraction], int], other: dict[tuple[int, Fraction], int]) -> float:
    """Return the share of moves that both spans have at the same time."""
    most = min(len(one), len(other))
    same = sum(other.get(place) == move for place, move in one.items())
    return same / most if most >= 4 else 0.0
