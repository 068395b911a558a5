"""The whole analysis of a piece: every question in its turn, each answered from the ones before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

from counterpane.analysis.cadences import find_cadences
from counterpane.analysis.comparison import compare_sections
from counterpane.analysis.countersubjects import find_countersubject
from counterpane.analysis.counting import count_table
from counterpane.analysis.episodes import find_episodes
from counterpane.analysis.exchanges import find_exchanges
from counterpane.analysis.keys import find_keys
from counterpane.analysis.peaks import find_peak, section_peaks
from counterpane.analysis.pedal_points import find_pedal_points
from counterpane.analysis.puzzles import make_puzzles
from counterpane.analysis.sections import Found, Span, find_spans, label
from counterpane.analysis.sequences import find_sequences
from counterpane.analysis.statements import find_statements
from counterpane.analysis.steps import Lines, lines_of
from counterpane.analysis.subject import find_subjects, no_subject_reason
from counterpane.analysis.subject_choice import SubjectChoice, chosen_subject
from counterpane.analysis.suggestions import make_suggestions
from counterpane.errors import AnalysisError
from counterpane.model.analysis import Analysis, Cadence, KeyOfMeasure, Statement, Subject
from counterpane.model.piece import Piece


@dataclass(frozen=True)
class Heard:
    """What the rest follows from: the subject with its statements, the keys and the cadences."""

    subject: Subject | None
    no_subject_reason: str
    alternatives: tuple[Subject, ...]
    statements: tuple[Statement, ...]
    key: str
    keys: tuple[KeyOfMeasure, ...]
    cadences: tuple[Cadence, ...]


def analyse(piece: Piece, subject: SubjectChoice | None = None) -> Analysis:
    """Return all answers about `piece`; `subject` is the one to look for when a person has marked it.

    Raises `AnalysisError` when the piece has no notes, or when no subject lies where `subject` says.
    """
    lines = lines_of(piece)
    return conclude(piece, hear(piece, subject, lines=lines), lines=lines)


def heard_in(analysis: Analysis) -> Heard:
    """Return what an analysis rests on, so that it can be changed and concluded from anew."""
    return Heard(**{field.name: getattr(analysis, field.name) for field in fields(Heard)})


def with_subject(piece: Piece, heard: Heard, choice: SubjectChoice) -> Heard:
    """Return what is heard when a person has marked the subject. Raises `AnalysisError` as `analyse` does."""
    chosen = chosen_subject(piece, choice)
    former = (heard.subject, *heard.alternatives) if heard.subject else heard.alternatives
    return replace(
        heard,
        subject=chosen,
        no_subject_reason="",
        alternatives=tuple(other for other in former if other.notes != chosen.notes),
        statements=find_statements(piece, chosen),
    )


def hear(piece: Piece, subject: SubjectChoice | None = None, *, lines: Lines | None = None) -> Heard:
    """Return the subject, its statements, keys and cadences. Raises as `analyse` does.

    `lines` saves making them when they are at hand.
    """
    if not piece.notes:
        raise AnalysisError("the score has no notes to analyse; check that the right file was chosen")
    lines = lines or lines_of(piece)
    found = find_subjects(piece, lines=lines)
    first = next(iter(found), None)
    key, keys = find_keys(piece)
    heard = Heard(
        subject=first,
        no_subject_reason="" if first else no_subject_reason(piece, found),
        alternatives=found[1:],
        statements=find_statements(piece, first, lines=lines) if first and not subject else (),
        key=key,
        keys=keys,
        cadences=find_cadences(piece, keys),
    )
    return with_subject(piece, heard, subject) if subject else heard


def conclude(
    piece: Piece,
    heard: Heard,
    reshape: Callable[[tuple[Span, ...]], tuple[Span, ...]] = tuple,
    *,
    lines: Lines | None = None,
) -> Analysis:
    """Return the analysis that follows from what was heard; `reshape` may move and rename its sections.

    `lines` saves making them when they are at hand.
    """
    lines = lines or lines_of(piece)
    sequences = find_sequences(piece, heard.statements, lines=lines)
    found = Found(heard.statements, sequences, heard.keys, heard.cadences)
    sections = label(piece, found, reshape(find_spans(piece, found)))
    peak = find_peak(piece, sequences)
    analysis = Analysis(
        key=heard.key,
        subject=heard.subject,
        no_subject_reason=heard.no_subject_reason,
        alternatives=heard.alternatives,
        statements=heard.statements,
        countersubject=find_countersubject(piece, heard.statements),
        episodes=find_episodes(piece, heard.statements, sequences),
        pedal_points=find_pedal_points(piece),
        exchanges=find_exchanges(piece, heard.statements, lines=lines),
        sequences=sequences,
        keys=heard.keys,
        cadences=heard.cadences,
        sections=sections,
        count_table=count_table(sections, heard.statements, sequences),
        comparisons=compare_sections(piece, sections, found),
        peak=peak,
        section_peaks=section_peaks(piece, sections, sequences),
        suggestions=make_suggestions(piece, heard.statements, sequences, heard.cadences, peak),
        puzzles=(),
        warnings=piece.warnings,
    )
    return replace(analysis, puzzles=make_puzzles(piece, analysis))
