"""One call from key events to an assessment: alignment, measures, findings."""

from __future__ import annotations

from counterpane.errors import NotFound
from counterpane.listening.alignment import align
from counterpane.listening.engine import ENGINE
from counterpane.listening.findings import find, for_student, only_finding
from counterpane.listening.findings_notes import is_unrecognised
from counterpane.listening.measures import Heard, Measured, hear, measure
from counterpane.listening.measures.shape import unmeasured
from counterpane.listening.troubles import Trouble, find_troubles, tally
from counterpane.listening.wording import Wording, load_wording
from counterpane.model.analysis import Analysis
from counterpane.model.assessment import Alignment, Assessment, Finding
from counterpane.model.performance import Performance
from counterpane.model.piece import Piece
from counterpane.model.practice import Decision, Level, Passage

_NOTHING = "No key was struck."
_ANOTHER = "What was played does not match these measures."


def assess(
    piece: Piece,
    analysis: Analysis,
    passage: Passage,
    performance: Performance,
    *,
    decisions: tuple[Decision, ...] = (),
    level: Level = "intermediate",
    language: str = "en",
) -> Assessment:
    """Assess one attempt at a passage; nothing played, or something else played, is answered as such.

    Raises `NotFound` when the piece has no such measures, `PerformanceError` when the passage has no notes for the
    hands, `DrillError` when the sentences for the language cannot be used.
    """
    check_measures(piece, passage)
    return assess_alignment(
        piece,
        analysis,
        passage,
        performance,
        align(piece, passage, performance),
        decisions=decisions,
        level=level,
        language=language,
    )


def assess_alignment(
    piece: Piece,
    analysis: Analysis,
    passage: Passage,
    performance: Performance,
    alignment: Alignment,
    *,
    decisions: tuple[Decision, ...] = (),
    level: Level = "intermediate",
    language: str = "en",
) -> Assessment:
    """Assess an attempt whose alignment is known already."""
    heard = hear(piece, passage, performance, alignment)
    wording = load_wording(language)
    measures = measure(heard, analysis, decisions)
    if not performance.notes:
        found = only_finding(heard, "nothing_played", wording)
        return _assessment(heard, _all_open(measures, _NOTHING), found)
    if is_unrecognised(alignment):
        return _assessment(heard, _all_open(measures, _ANOTHER), _other_than_asked(heard, wording))
    troubles = find_troubles(heard)
    found = find(heard, measures, troubles, analysis, decisions, level, wording)
    return _assessment(heard, measures, found or only_finding(heard, "carry_on", wording), troubles)


def _other_than_asked(heard: Heard, wording: Wording) -> tuple[Finding, ...]:
    """Say what was heard instead: the hand that was not asked, or something else altogether."""
    alignment = heard.alignment
    if heard.passage.hands != "both" and alignment.hands not in ("both", heard.passage.hands):
        return only_finding(heard, "other_hand", wording)
    return only_finding(heard, "not_recognised", wording, keys=len(alignment.events))


def check_measures(piece: Piece, passage: Passage) -> None:
    """Raise `NotFound` unless the passage's measures are printed in the piece, in this order."""
    numbers = {measure.number for measure in piece.measures}
    for number in (passage.first_measure, passage.last_measure):
        if number not in numbers:
            raise NotFound(
                f"there is no measure {number}; the piece has measures {min(numbers)} to {max(numbers)}"
            )
    if passage.first_measure > passage.last_measure:
        raise NotFound(
            f"measures {passage.first_measure} to {passage.last_measure} run backwards; name the first one first"
        )


def _all_open(measures: dict[str, Measured], reason: str) -> dict[str, Measured]:
    """Keep accuracy, which can still be counted, and say of all else why it was not measured."""
    return {
        name: found if name == "accuracy" else unmeasured(str(found["unit"]), reason)
        for name, found in measures.items()
    }


def _assessment(
    heard: Heard,
    measures: dict[str, Measured],
    found: tuple[Finding, ...],
    troubles: tuple[Trouble, ...] = (),
) -> Assessment:
    return Assessment(
        engine=ENGINE,
        passage=heard.passage,
        alignment=heard.alignment,
        measures=dict(measures),
        findings=found,
        for_student=for_student(found),
        tallies=tally(heard, troubles),
        warnings=tuple(dict.fromkeys((*heard.performance.warnings, *heard.alignment.warnings))),
    )
