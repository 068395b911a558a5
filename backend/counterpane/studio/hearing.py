"""From an attempt's key events to what is kept of it: the assessment, its pictures, and whether goals were met."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, cast

from counterpane.listening.assess import assess
from counterpane.listening.events import performance_from_raw
from counterpane.listening.pictures import attempt_pictures
from counterpane.listening.report import assessment_json
from counterpane.model.assessment import Assessment
from counterpane.model.practice import AttemptSummary, Decision, Level, Passage, Step
from counterpane.practice.progress import is_good
from counterpane.store.assessments import AssessmentRow
from counterpane.store.packing import RawEvent
from counterpane.studio.library import Work


def hear(
    work: Work,
    passage: Passage,
    events: tuple[RawEvent, ...],
    step: Step | None,
    *,
    decisions: tuple[Decision, ...],
    level: Level,
    language: str,
) -> AssessmentRow:
    """Assess key events against a passage; without a step no goals can be met.

    Raises `NotFound` for measures that the piece does not have and `PerformanceError` for events that cannot be
    read.
    """
    performance = performance_from_raw(events)
    found = assess(
        work.piece, work.analysis, passage, performance, decisions=decisions, level=level, language=language
    )
    report = assessment_json(found)
    drawn = attempt_pictures(work.piece, work.analysis, found, performance, language=language)
    numbers = _numbers(found)
    return AssessmentRow(
        engine=found.engine,
        accuracy=numbers["accuracy"],
        evenness_ms=numbers["evenness"],
        togetherness_ms=numbers["togetherness"],
        hesitations=None if numbers["hesitations"] is None else round(numbers["hesitations"]),
        complete=_complete(found),
        met_goals=step is not None and is_good(step, _as_summary(numbers, _complete(found))),
        findings=tuple(cast("list[dict[str, Any]]", report["findings"])),
        tallies=tuple(cast("list[dict[str, Any]]", report["by_measure"])),
        report=report,
        pictures=tuple({"kind": one.kind, "svg": one.svg, "text": one.text} for one in drawn),
    )


def _numbers(found: Assessment) -> dict[str, float | None]:
    """Return the headline value of the measures that plans and lists ask for."""
    names = ("accuracy", "evenness", "togetherness", "hesitations")
    measures = cast("Mapping[str, Mapping[str, Any]]", found.measures)
    return {name: measures[name]["value"] for name in names}


def _complete(found: Assessment) -> bool:
    """Whether the player came to the end of the passage: no written note was left unreached."""
    return all(note.status != "not_reached" for note in found.alignment.notes)


def _as_summary(numbers: dict[str, float | None], complete: bool) -> AttemptSummary:
    return AttemptSummary(
        piece="",
        patch="",
        step="",
        day=date.min,
        minutes=0.0,
        accuracy=numbers["accuracy"],
        evenness_ms=numbers["evenness"],
        togetherness_ms=numbers["togetherness"],
        complete=complete,
    )
