"""The teacher's corrections: a layer over the analysis that is laid on again whenever the analysis is made again.

A correction names what it is about by place, never by an id of the analysis, so that it outlives a newer analysis.
What it can no longer find becomes a conflict and changes nothing. Everything that follows from what was
corrected (sequences' statements, sections, count table, comparisons, puzzles) is made anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import count
from typing import Literal

from counterpane.analysis.pipeline import Heard, analyse, conclude, heard_in, with_subject
from counterpane.analysis.sections import Span
from counterpane.analysis.subject_choice import SubjectChoice
from counterpane.errors import AnalysisError
from counterpane.model.analysis import Analysis, Extent, Form, Likeness, Statement, Suggestion
from counterpane.model.piece import Hand, Measure, Piece

# Beats are often written with two or three decimals.
_TOLERANCE = Fraction(1, 50)


@dataclass(frozen=True)
class Stretch:
    """Notes of one hand from a first to a last place, both included."""

    hand: Hand
    start_measure: int
    start_beat: Fraction
    end_measure: int
    end_beat: Fraction


@dataclass(frozen=True)
class ChooseSubject:
    """Say that a stretch is the subject."""

    stretch: Stretch


@dataclass(frozen=True)
class AddStatement:
    """Say that a stretch states the subject."""

    stretch: Stretch
    form: Form = "upright"


@dataclass(frozen=True)
class DropStatement:
    """Say that a stretch does not state the subject."""

    stretch: Stretch


@dataclass(frozen=True)
class RelabelStatement:
    """The statement in this stretch is of another form, extent or likeness; None leaves one as it is."""

    stretch: Stretch
    form: Form | None = None
    extent: Extent | None = None
    likeness: Likeness | None = None


@dataclass(frozen=True)
class MoveBoundary:
    """The section that begins in measure `first_measure` begins in measure `to_measure`."""

    first_measure: int
    to_measure: int


@dataclass(frozen=True)
class RenameSection:
    """The section that begins in measure `first_measure` is of another kind ("B") or has a name of its own."""

    first_measure: int
    label: str


@dataclass(frozen=True)
class DecideSuggestion:
    """The suggestion with this id is accepted, edited (with its new text) or dropped."""

    id: str
    decision: Literal["accept", "edit", "drop"]
    text: str | None = None


Correction = (
    ChooseSubject
    | AddStatement
    | DropStatement
    | RelabelStatement
    | MoveBoundary
    | RenameSection
    | DecideSuggestion
)


@dataclass(frozen=True)
class Conflict:
    """A correction that the present analysis contradicts, and why, in one sentence."""

    correction: Correction
    text: str


class _Lost(Exception):
    """What a correction is about is not there (any more)."""


def apply_corrections(
    piece: Piece, analysis: Analysis | None, corrections: Iterable[Correction]
) -> tuple[Analysis, tuple[Conflict, ...]]:
    """Return the analysis of `piece` as corrected, and the corrections that found nothing to correct.

    `analysis` saves making it when it is at hand. Corrections are laid on in the order subject, statements,
    boundaries, names, suggestions, and within each in the order given.
    """
    wanted = list(corrections)
    conflicts: list[Conflict] = []
    analysis = analysis or analyse(piece)
    if not wanted:
        return analysis, ()
    heard = _corrected_hearing(piece, heard_in(analysis), wanted, conflicts)
    about_sections = [c for c in wanted if isinstance(c, MoveBoundary | RenameSection)]
    changed = conclude(piece, heard, lambda spans: _corrected_spans(piece, list(spans), about_sections, conflicts))
    suggestions = _corrected_suggestions(changed.suggestions, wanted, conflicts)
    return replace(changed, suggestions=suggestions), tuple(conflicts)


def _corrected_hearing(piece: Piece, heard: Heard, wanted: list[Correction], conflicts: list[Conflict]) -> Heard:
    for correction in wanted:
        if isinstance(correction, ChooseSubject):
            try:
                heard = with_subject(piece, heard, _choice(correction.stretch))
            except AnalysisError as error:
                conflicts.append(Conflict(correction, f"The subject is not changed: {error}."))
    statements = list(heard.statements)
    for correction in wanted:
        try:
            if isinstance(correction, AddStatement):
                statements.append(_statement(piece, correction, _free_id(statements)))
            elif isinstance(correction, DropStatement):
                statements.remove(_find(piece, statements, correction.stretch))
            elif isinstance(correction, RelabelStatement):
                found = _find(piece, statements, correction.stretch)
                statements[statements.index(found)] = _relabelled(found, correction)
        except _Lost as lost:
            conflicts.append(Conflict(correction, str(lost)))
    return replace(heard, statements=tuple(sorted(statements, key=lambda s: (s.start.offset, s.voice))))


def _choice(stretch: Stretch) -> SubjectChoice:
    return SubjectChoice(
        stretch.hand, stretch.start_measure, stretch.start_beat, stretch.end_measure, stretch.end_beat
    )


def _offset(piece: Piece, measure: int, beat: Fraction) -> Fraction:
    try:
        return piece.offset(measure, beat)
    except KeyError:
        raise _Lost(f"The piece has no measure {measure} any more.") from None


def _find(piece: Piece, statements: list[Statement], stretch: Stretch) -> Statement:
    """Return the statement that begins where the stretch does; of several the one that ends most alike."""
    start = _offset(piece, stretch.start_measure, stretch.start_beat)
    end = _offset(piece, stretch.end_measure, stretch.end_beat)
    begun = [s for s in statements if s.hand == stretch.hand and abs(s.start.offset - start) <= _TOLERANCE]
    if not begun:
        raise _Lost(
            f"No statement is found any more in the {stretch.hand} hand at measure {stretch.start_measure}, "
            f"beat {float(stretch.start_beat):g}."
        )
    return min(begun, key=lambda s: abs(s.end.offset - end))


def _free_id(statements: list[Statement]) -> str:
    taken = {statement.id for statement in statements}
    return next(name for number in count(len(statements) + 1) if (name := f"added-{number}") not in taken)


def _statement(piece: Piece, correction: AddStatement, id_: str) -> Statement:
    stretch = correction.stretch
    start = _offset(piece, stretch.start_measure, stretch.start_beat)
    end = _offset(piece, stretch.end_measure, stretch.end_beat)
    within = [
        n for n in piece.notes if n.hand == stretch.hand and start - _TOLERANCE <= n.onset <= end + _TOLERANCE
    ]
    # Where two voices begin together the upper one is meant, as for a subject.
    voice = min((n.voice for n in within if n.onset <= start + _TOLERANCE), default=None)
    notes = [note for note in within if note.voice == voice]
    if len(notes) < 2:
        raise _Lost(
            f"The {stretch.hand} hand has no line of notes from measure {stretch.start_measure}, beat "
            f"{float(stretch.start_beat):g}."
        )
    return Statement(
        id=id_,
        hand=stretch.hand,
        voice=notes[0].voice,
        start=piece.place(notes[0].onset),
        end=piece.place(notes[-1].onset),
        form=correction.form,
        extent="complete",
        likeness="varied",
        notes=tuple(note.id for note in notes),
        confidence=1.0,
        reason="marked by hand",
    )


def _relabelled(statement: Statement, correction: RelabelStatement) -> Statement:
    return replace(
        statement,
        form=correction.form or statement.form,
        extent=correction.extent or statement.extent,
        likeness=correction.likeness or statement.likeness,
        confidence=1.0,
        reason="labelled by hand",
    )


def _corrected_spans(
    piece: Piece, spans: list[Span], wanted: list[MoveBoundary | RenameSection], conflicts: list[Conflict]
) -> tuple[Span, ...]:
    for correction in sorted(wanted, key=lambda c: isinstance(c, RenameSection)):
        try:
            index = _span_index(piece, spans, correction.first_measure)
            if isinstance(correction, MoveBoundary):
                _move(piece, spans, index, correction.to_measure)
            else:
                spans[index] = _renamed(spans[index], correction.label)
        except _Lost as lost:
            conflicts.append(Conflict(correction, str(lost)))
    return tuple(spans)


def _span_index(piece: Piece, spans: list[Span], first_measure: int) -> int:
    for index, span in enumerate(spans):
        if piece.measures[span.first].number == first_measure:
            return index
    raise _Lost(f"No section begins in measure {first_measure} any more.")


def _move(piece: Piece, spans: list[Span], index: int, to_measure: int) -> None:
    """Move the start of a span; its neighbour gives or takes the measures, and both keep at least one."""
    target: Measure | None = next((m for m in piece.measures if m.number == to_measure), None)
    if index == 0 or target is None or not spans[index - 1].first < target.index <= spans[index].last:
        raise _Lost(f"The section cannot begin in measure {to_measure}: no measure would be left beside it.")
    spans[index - 1] = replace(spans[index - 1], last=target.index - 1, reason="Its end was set by hand.")
    spans[index] = replace(spans[index], first=target.index, reason="Its start was set by hand.")


def _renamed(span: Span, label: str) -> Span:
    kind = label.rstrip("0123456789")
    if len(kind) == 1 and kind.isupper():
        return replace(span, kind=kind, name=None)
    return replace(span, name=label)


def _corrected_suggestions(
    suggestions: tuple[Suggestion, ...], wanted: list[Correction], conflicts: list[Conflict]
) -> tuple[Suggestion, ...]:
    by_id = {suggestion.id: suggestion for suggestion in suggestions}
    for correction in wanted:
        if not isinstance(correction, DecideSuggestion):
            continue
        if correction.id not in by_id:
            conflicts.append(Conflict(correction, f"The suggestion {correction.id} is not made any more."))
        elif correction.decision == "drop":
            del by_id[correction.id]
        else:
            old = by_id[correction.id]
            by_id[old.id] = replace(old, text=correction.text or old.text, decision=correction.decision)
    return tuple(by_id.values())
