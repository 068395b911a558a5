"""Sections: the piece divided by cadences and by how the subject is treated, labelled by kind and by time.

The same letter means the same treatment of the subject (in a piece without one: the same beginning), the number
says which time: A1 B1 C1 A2 …. A last stretch that only brings the piece to rest is called the closing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from counterpane.analysis.cadences import cadence_name
from counterpane.analysis.phrases import letter, letters, phrase_spans
from counterpane.analysis.section_cuts import Stretch, cut
from counterpane.analysis.texture import begun_between, notes_begun
from counterpane.analysis.treatments import Treatment, measure_facts
from counterpane.model.analysis import Cadence, KeyOfMeasure, Section, Sequence, Statement
from counterpane.model.piece import Piece

CLOSING = "closing"
_CLOSING_LENGTH = 1.5
_REASONS: dict[Treatment, str] = {
    "answering": "the voices state the subject by turns",
    "one voice": "one voice states the subject again and again",
    "cadencing": "the subject thins out toward a cadence",
    "free": "no voice states the subject",
}


@dataclass(frozen=True)
class Span:
    """One section before it is described: measures (indices, both included), kind, reason, confidence.

    `voice` is the one that states the subject alone, if one does; `name` replaces kind and number.
    """

    first: int
    last: int
    kind: str
    reason: str
    confidence: float
    voice: int | None = None
    name: str | None = None


@dataclass(frozen=True)
class Found:
    """What sections are drawn from and described by."""

    statements: tuple[Statement, ...]
    sequences: tuple[Sequence, ...]
    keys: tuple[KeyOfMeasure, ...]
    cadences: tuple[Cadence, ...]

    def statements_of(self, section: Section) -> list[Statement]:
        """Return the statements that a section holds, in time order."""
        return [self._statement[name] for name in section.statements]

    def sequences_of(self, section: Section) -> tuple[Sequence, ...]:
        """Return the sequences that a section holds, in time order."""
        return tuple(self._sequence[name] for name in section.sequences)

    @cached_property
    def _statement(self) -> dict[str, Statement]:
        return {statement.id: statement for statement in self.statements}

    @cached_property
    def _sequence(self) -> dict[str, Sequence]:
        return {sequence.id: sequence for sequence in self.sequences}


def find_spans(piece: Piece, found: Found) -> tuple[Span, ...]:
    """Return how `piece` falls into sections, in order; together they hold every measure."""
    return _by_treatment(piece, found) if found.statements else _by_phrase(piece, found)


def label(piece: Piece, found: Found, spans: tuple[Span, ...]) -> tuple[Section, ...]:
    """Return the spans as sections, numbered within their kinds."""
    times: Counter[str] = Counter()
    sections = []
    stated = _by_span(piece, found, spans)
    sequenced = _sequences_by_span(piece, found.sequences, spans)
    for span, statements, sequences in zip(spans, stated, sequenced, strict=True):
        times[span.kind] += 1
        sections.append(_described(piece, found, span, times[span.kind], statements, sequences))
    return tuple(sections)


def _by_span(piece: Piece, found: Found, spans: tuple[Span, ...]) -> list[list[str]]:
    """Return the ids of the statements that begin in each span.

    A statement that begins in the second half of a span's last measure opens the next span where it comes after a
    cadence there, or where it is another voice's and one voice has stated the subject alone.
    """
    inside: list[list[str]] = [[] for _ in spans]
    closes = {piece.measure_at(cadence.place.offset).index: cadence.place.offset for cadence in found.cadences}
    number = 0
    for statement in sorted(found.statements, key=_start):
        while statement.start.offset >= piece.measures[spans[number].last].end:
            number += 1
        span, last = spans[number], piece.measures[spans[number].last]
        late = statement.start.offset >= last.onset + last.length / 2
        closed = statement.start.offset >= closes.get(last.index, last.end)
        fresh = closed or (span.voice is not None and statement.voice != span.voice)
        opens_next = late and fresh and span is not spans[-1]
        inside[number + opens_next].append(statement.id)
    return inside


def _sequences_by_span(piece: Piece, sequences: tuple[Sequence, ...], spans: tuple[Span, ...]) -> list[list[str]]:
    """Return the ids of the sequences that mostly lie in each span: those with their middle there."""
    inside: list[list[str]] = [[] for _ in spans]
    starts = [piece.measures[span.first].onset for span in spans]
    for sequence in sequences:
        middle = (sequence.start.offset + sequence.end.offset) / 2
        inside[bisect_right(starts, middle) - 1].append(sequence.id)
    return inside


def _described(
    piece: Piece, found: Found, span: Span, time: int, statements: list[str], sequences: list[str]
) -> Section:
    """Return one section with the ids of its statements and sequences."""
    first, last = piece.measures[span.first], piece.measures[span.last]
    inside = notes_begun(piece, first.onset, last.end)
    start = inside[0].onset if inside else first.onset
    end = inside[-1].onset if inside else first.onset
    return Section(
        label=span.name or (CLOSING if span.kind == CLOSING else f"{span.kind}{time}"),
        kind=span.kind,
        time=time,
        start=piece.place(start),
        end=piece.place(end),
        first_measure=first.number,
        last_measure=last.number,
        key=_main_key(found.keys[span.first : span.last + 1]),
        statements=tuple(statements),
        sequences=tuple(sequences),
        confidence=span.confidence,
        reason=span.reason,
    )


def _by_treatment(piece: Piece, found: Found) -> tuple[Span, ...]:
    facts = measure_facts(piece, found.statements, found.sequences, found.cadences)
    stretches = cut(piece, facts, found.statements, found.sequences)
    statements = sorted(found.statements, key=_start)
    kinds: dict[Treatment, str] = {}
    spans = []
    for stretch in stretches:
        closing = stretch is stretches[-1] and _is_closing(stretches, stretch)
        if not closing and stretch.treatment not in kinds:
            kinds[stretch.treatment] = letter(len(kinds))
        kind = CLOSING if closing else kinds[stretch.treatment]
        reason = "the piece comes to rest here" if closing else _REASONS[stretch.treatment]
        spans.append(
            Span(
                stretch.first,
                stretch.last,
                kind,
                f"In measures {_measures(piece, stretch)} {reason}.",
                round(max(0.4, 0.9 - 0.25 * max(0.0, stretch.misfit)), 2),
                _only_voice(piece, statements, stretch) if stretch.treatment == "one voice" else None,
            )
        )
    return tuple(spans)


def _only_voice(piece: Piece, statements: list[Statement], stretch: Stretch) -> int:
    """Return the voice that states the subject most often in a stretch, of statements in time order."""
    start, end = piece.measures[stretch.first].onset, piece.measures[stretch.last].end
    voices = Counter(statement.voice for statement in begun_between(statements, start, end, _start))
    return voices.most_common(1)[0][0]


def _start(statement: Statement) -> Fraction:
    return statement.start.offset


def _is_closing(stretches: tuple[Stretch, ...], last: Stretch) -> bool:
    """Say whether a last stretch moves to the cadence or is free, and is no longer than sections are here."""
    if len(stretches) < 3 or last.treatment not in ("cadencing", "free"):
        return False
    lengths = [stretch.last - stretch.first + 1 for stretch in stretches]
    return lengths[-1] <= _CLOSING_LENGTH * sum(lengths[:-1]) / (len(lengths) - 1)


def _by_phrase(piece: Piece, found: Found) -> tuple[Span, ...]:
    spans = phrase_spans(piece, found.cadences, found.keys)
    closes = {piece.measure_at(c.place.offset).number: c for c in found.cadences}
    result = []
    for (first, last), kind in zip(spans, letters(piece, spans), strict=True):
        numbers = [piece.measures[last].number, piece.measures[min(last + 1, len(piece.measures) - 1)].number]
        close = next((closes[number] for number in numbers if number in closes), None)
        reason = (
            f"The phrase ends with {cadence_name(close)}."
            if close
            else "A new key or the end of a repeated part follows."
        )
        result.append(Span(first, last, kind, reason, close.confidence if close else 0.5))
    return tuple(result)


def _main_key(keys: tuple[KeyOfMeasure, ...]) -> str:
    """Return the key of most measures; of keys that share them equally, the one in which the section begins."""
    return Counter(key.key for key in keys).most_common(1)[0][0]


def _measures(piece: Piece, stretch: Stretch) -> str:
    return f"{piece.measures[stretch.first].number} to {piece.measures[stretch.last].number}"
