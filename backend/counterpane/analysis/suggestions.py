"""What the analysis invites a player to do: proposals about style, never rules; the teacher decides."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal

from counterpane.analysis.cadences import cadence_name
from counterpane.model.analysis import Cadence, Peak, Sequence, Statement, Suggestion
from counterpane.model.piece import HANDS, Hand, Piece, Place

_PROPOSAL = "A proposal about style:"
_EASE = "ease through the falling sequence, each copy a little softer than the last."
_LEAST_CONFIDENCE = 0.6


def make_suggestions(
    piece: Piece,
    statements: tuple[Statement, ...],
    sequences: tuple[Sequence, ...],
    cadences: tuple[Cadence, ...],
    peak: Peak | None,
) -> tuple[Suggestion, ...]:
    """Return suggestions in time order, each with its reason. Ids name kind and place."""
    found = [
        *_sequences(sequences, peak),
        *_entries(statements),
        *_balance(piece, statements),
        *_arrivals(piece, cadences),
    ]
    return tuple(sorted(found, key=lambda suggestion: (suggestion.place.offset, suggestion.id)))


def _sequences(sequences: tuple[Sequence, ...], peak: Peak | None) -> Iterator[Suggestion]:
    for sequence in sequences:
        if sequence.confidence >= _LEAST_CONFIDENCE:
            rising = sequence.direction == "rising"
            kind: Literal["grow", "ease"] = "grow" if rising else "ease"
            text, reason = _grow(sequence, peak) if rising else (_EASE, "lower")
            yield Suggestion(
                _id(kind, sequence.hands[0], sequence.start),
                sequence.start,
                sequence.end,
                kind,
                f"{_PROPOSAL} {text}",
                f"The figure is heard {sequence.count} times, each time {abs(sequence.step)} scale "
                f"{'step' if abs(sequence.step) == 1 else 'steps'} {reason}.",
                sequence.notes,
            )


def _grow(sequence: Sequence, peak: Peak | None) -> tuple[str, str]:
    if peak is not None and peak.sequence == sequence.id:
        text = "grow through the rising sequence to the highest note of the piece, each copy a little fuller."
        return text, "higher, and it leads to the peak"
    return "grow through the rising sequence, each copy a little fuller than the last.", "higher"


def _id(kind: str, hands: str, place: Place) -> str:
    """Name a suggestion by what it is and where, so that a teacher's word about it outlives a newer analysis."""
    return f"{kind}-{hands}-{place.measure}-{float(place.beat):g}"


def _entries(statements: tuple[Statement, ...]) -> Iterator[Suggestion]:
    for statement in statements:
        if statement.extent == "shortened" or statement.confidence < _LEAST_CONFIDENCE:
            continue
        yield Suggestion(
            _id("separate", statement.hand, statement.start),
            statement.start,
            statement.start,
            "separate",
            f"{_PROPOSAL} separate this entry from what comes before, so that a listener can count it.",
            f"The subject begins here in the {statement.hand} hand ({statement.form}).",
            statement.notes[:1],
        )


def _balance(piece: Piece, statements: tuple[Statement, ...]) -> Iterator[Suggestion]:
    """Yield a suggestion wherever another hand takes the subject over and the first one goes on against it."""
    onsets = {hand: [note.onset for note in piece.notes if note.hand == hand] for hand in HANDS}
    previous: Hand | None = None
    for statement in statements:
        other: Hand = "left" if statement.hand == "right" else "right"
        if statement.hand != previous and _sounds(onsets[other], statement):
            yield Suggestion(
                _id("balance", statement.hand, statement.start),
                statement.start,
                statement.end,
                "balance",
                f"{_PROPOSAL} let the {statement.hand} hand be heard over the {other} hand here.",
                f"The {statement.hand} hand states the subject while the {other} hand goes with it.",
                statement.notes,
            )
        previous = statement.hand


def _sounds(onsets: list[Fraction], statement: Statement) -> bool:
    first = bisect_left(onsets, statement.start.offset)
    return first < len(onsets) and onsets[first] < statement.end.offset


def _arrivals(piece: Piece, cadences: tuple[Cadence, ...]) -> Iterator[Suggestion]:
    for cadence in cadences:
        if cadence.confidence < _LEAST_CONFIDENCE:
            continue
        last = cadence.place.offset >= piece.measures[-1].onset
        how = (
            "broaden a little into the last chord" if last else "let the phrase arrive before the next one starts"
        )
        yield Suggestion(
            _id("arrive", "both", cadence.place),
            cadence.place,
            cadence.place,
            "arrive",
            f"{_PROPOSAL} {how}.",
            f"The piece reaches {cadence_name(cadence)} here.",
            cadence.notes,
        )
