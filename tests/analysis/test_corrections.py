"""The teacher's corrections: laid over any analysis, kept when it is made again, conflicts told and harmless."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from counterpane.analysis import analyse
from counterpane.analysis.corrections import (
    AddStatement,
    ChooseSubject,
    Correction,
    DecideSuggestion,
    DropStatement,
    MoveBoundary,
    RelabelStatement,
    RenameSection,
    Stretch,
    apply_corrections,
)
from counterpane.analysis.corrections_json import corrected, correction_from_json
from counterpane.analysis.report import analysis_json
from counterpane.errors import AnalysisError
from counterpane.model.analysis import Analysis
from tests.analysis.test_sections import analysed, invention

STATEMENT = {"hand": "right", "start": {"measure": 3, "beat": 1.25}, "end": {"measure": 3, "beat": 2.75}}
SUBJECT = {"hand": "right", "start": {"measure": 1, "beat": 1.25}, "end": {"measure": 1, "beat": 2.75}}
GONE = {"hand": "left", "start": {"measure": 10, "beat": 1}, "end": {"measure": 10, "beat": 2}}
NOWHERE = {"hand": "left", "start": {"measure": 90, "beat": 1}, "end": {"measure": 91, "beat": 1}}
HERE = Stretch("right", 3, Fraction(5, 4), 3, Fraction(11, 4))
EVERY_KIND: list[tuple[dict[str, Any], Correction]] = [
    ({"kind": "subject", **STATEMENT}, ChooseSubject(HERE)),
    ({"kind": "drop_statement", **STATEMENT}, DropStatement(HERE)),
    ({"kind": "add_statement", **STATEMENT}, AddStatement(HERE, "upright")),
    ({"kind": "add_statement", **STATEMENT, "form": "inverted"}, AddStatement(HERE, "inverted")),
    (
        {"kind": "relabel_statement", **STATEMENT, "form": "upright", "likeness": "varied"},
        RelabelStatement(HERE, form="upright", likeness="varied"),
    ),
    ({"kind": "move_boundary", "first_measure": 3, "to_measure": 4}, MoveBoundary(3, 4)),
    ({"kind": "rename_section", "first_measure": 1, "label": "Opening"}, RenameSection(1, "Opening")),
    (
        {"kind": "suggestion", "id": "ease-right-3-1.25", "decision": "edit", "text": "Let it fade."},
        DecideSuggestion("ease-right-3-1.25", "edit", "Let it fade."),
    ),
    (
        {"kind": "suggestion", "id": "ease-right-3-1.25", "decision": "drop"},
        DecideSuggestion("ease-right-3-1.25", "drop"),
    ),
]


def correct(*corrections: dict[str, Any]) -> tuple[Analysis, list[str]]:
    """Return the invention's analysis as corrected, and the texts of the conflicts."""
    analysis, conflicts = corrected(invention(), analysed(), corrections)
    return analysis, [conflict.text for conflict in conflicts]


@pytest.mark.parametrize(("json_form", "correction"), EVERY_KIND)
def test_every_kind_is_read_from_json(json_form: dict[str, Any], correction: Correction) -> None:
    """A correction means after being stored as JSON text what it meant before."""
    assert correction_from_json(json.loads(json.dumps(json_form))) == correction


def test_a_marked_subject_replaces_the_one_that_was_found() -> None:
    """Statements, sections and table follow the subject that the teacher marks."""
    analysis, conflicts = corrected(invention(), analyse(invention()), [{"kind": "subject", **SUBJECT}])
    assert conflicts == ()
    assert analysis.statements == analysed().statements
    assert analysis.count_table == analysed().count_table


def test_a_dropped_statement_is_gone_from_everything_that_counts() -> None:
    """The count table of the section has one fewer, the sequence names it no longer."""
    analysis, conflicts = correct({"kind": "drop_statement", **STATEMENT})
    assert conflicts == []
    assert len(analysis.statements) == len(analysed().statements) - 1
    assert sum(cell.statements for cell in analysis.count_table) == len(analysis.statements)
    (dropped,) = {s.id for s in analysed().statements} - {s.id for s in analysis.statements}
    assert all(dropped not in q.statements for q in analysis.sequences)


def test_an_added_statement_counts_with_its_form() -> None:
    """What the teacher adds is a statement with full confidence, marked by hand."""
    stretch = {"hand": "left", "start": {"measure": 3, "beat": 1}, "end": {"measure": 3, "beat": 4.5}}
    analysis, _ = correct({"kind": "add_statement", **stretch, "form": "inverted"})
    (added,) = [s for s in analysis.statements if s.reason == "marked by hand"]
    assert (added.hand, added.form, added.confidence) == ("left", "inverted", 1.0)
    assert added.id in {name for section in analysis.sections for name in section.statements}


def test_statements_added_before_and_after_one_is_dropped_have_names_of_their_own() -> None:
    """A name is given once, however the number of statements goes up and down."""
    left = {"kind": "add_statement", "hand": "left", "form": "upright"}
    first = {"start": {"measure": 3, "beat": 1}, "end": {"measure": 3, "beat": 4.5}}
    second = {"start": {"measure": 4, "beat": 1}, "end": {"measure": 4, "beat": 4.5}}
    analysis, _ = correct({**left, **first}, {"kind": "drop_statement", **STATEMENT}, {**left, **second})
    assert sum(s.reason == "marked by hand" for s in analysis.statements) == 2
    assert len({s.id for s in analysis.statements}) == len(analysis.statements)


def test_a_statement_takes_another_label() -> None:
    """Form and likeness change, the notes stay."""
    analysis, _ = correct({"kind": "relabel_statement", **STATEMENT, "form": "upright", "likeness": "varied"})
    (changed,) = [s for s in analysis.statements if s.reason == "labelled by hand"]
    assert (changed.form, changed.likeness) == ("upright", "varied")


def test_a_boundary_moves_and_both_neighbours_follow() -> None:
    """The section before ends where the moved one begins; what they hold is counted anew."""
    analysis, conflicts = correct({"kind": "move_boundary", "first_measure": 3, "to_measure": 4})
    assert conflicts == []
    spans = [(s.first_measure, s.last_measure) for s in analysis.sections][:2]
    assert spans == [(1, 3), (4, 4)]
    assert sum(cell.statements for cell in analysis.count_table) == len(analysis.statements)


def test_a_section_takes_a_name_or_another_kind() -> None:
    """A word is a name of its own; a capital letter changes the kind, and the numbers follow."""
    named, _ = correct({"kind": "rename_section", "first_measure": 1, "label": "Opening"})
    assert named.sections[0].label == "Opening"
    other, _ = correct({"kind": "rename_section", "first_measure": 1, "label": "B"})
    assert [s.label for s in other.sections][:4] == ["B1", "B2", "A1", "B3"]


def test_suggestions_are_accepted_edited_and_dropped() -> None:
    """An accepted one says so, an edited one has the teacher's words, a dropped one is gone."""
    first, second, third = (s.id for s in analysed().suggestions[:3])
    analysis, conflicts = correct(
        {"kind": "suggestion", "id": first, "decision": "accept"},
        {"kind": "suggestion", "id": second, "decision": "edit", "text": "Breathe here."},
        {"kind": "suggestion", "id": third, "decision": "drop"},
    )
    assert conflicts == []
    kept = {s.id: s for s in analysis.suggestions}
    assert kept[first].decision == "accept"
    assert (kept[second].decision, kept[second].text) == ("edit", "Breathe here.")
    assert third not in kept


@pytest.mark.parametrize(
    ("json_form", "text"),
    [
        (
            {"kind": "drop_statement", **GONE},
            "No statement is found any more in the left hand at measure 10, beat 1.",
        ),
        ({"kind": "drop_statement", **NOWHERE}, "The piece has no measure 90 any more."),
        ({"kind": "add_statement", **GONE}, "The left hand has no line of notes from measure 10, beat 1."),
        (
            {"kind": "move_boundary", "first_measure": 2, "to_measure": 3},
            "No section begins in measure 2 any more.",
        ),
        (
            {"kind": "move_boundary", "first_measure": 3, "to_measure": 1},
            "The section cannot begin in measure 1: no measure would be left beside it.",
        ),
        ({"kind": "rename_section", "first_measure": 2, "label": "D"}, "No section begins in measure 2 any more."),
        (
            {"kind": "suggestion", "id": "grow-right-90-1", "decision": "drop"},
            "The suggestion grow-right-90-1 is not made any more.",
        ),
    ],
)
def test_what_is_not_there_any_more_is_a_conflict_and_changes_nothing(
    json_form: dict[str, Any], text: str
) -> None:
    """One sentence says why; the analysis is as it was."""
    analysis, conflicts = correct(json_form)
    assert conflicts == [text]
    assert analysis == analysed()


def test_a_subject_that_does_not_exist_is_a_conflict() -> None:
    """The subject that was found stays."""
    stretch = {"hand": "right", "start": {"measure": 70, "beat": 1}, "end": {"measure": 71, "beat": 1}}
    analysis, (text,) = correct({"kind": "subject", **stretch})
    assert text.startswith("The subject is not changed: ")
    assert analysis.subject == analysed().subject


def test_corrections_are_kept_when_the_analysis_is_made_again() -> None:
    """Laid over a newer analysis, with other ids, they give the same answer."""
    old = analysed()
    renamed = replace(old, statements=tuple(replace(s, id=f"new-{s.id}") for s in old.statements))
    wanted = [c for c, _ in EVERY_KIND if c["kind"] not in ("subject", "add_statement", "drop_statement")]
    first, _ = corrected(invention(), old, wanted)
    second, conflicts = corrected(invention(), renamed, wanted)
    assert conflicts == ()
    assert [(s.label, s.first_measure) for s in second.sections] == [
        (s.label, s.first_measure) for s in first.sections
    ]
    assert second.count_table == first.count_table
    assert analysis_json(invention(), second)["suggestions"] == analysis_json(invention(), first)["suggestions"]


def test_no_corrections_leave_the_analysis_alone() -> None:
    """Without corrections nothing is made anew."""
    analysis = analysed()
    assert apply_corrections(invention(), analysis, []) == (analysis, ())


@pytest.mark.parametrize(
    ("json_form", "message"),
    [
        ({}, "None is no kind of correction"),
        ({"kind": "paint"}, "'paint' is no kind of correction"),
        ({"kind": "drop_statement", "hand": "right"}, "lacks 'start'"),
        ({"kind": "drop_statement", **STATEMENT, "hand": "both"}, "\"hand\" of a correction is 'both'"),
        ({"kind": "drop_statement", **STATEMENT, "end": STATEMENT["start"]}, "ends before it starts"),
        ({"kind": "drop_statement", **STATEMENT, "start": 3}, "is a place"),
        (
            {"kind": "drop_statement", **STATEMENT, "start": {"measure": 3, "beat": "one"}},
            "beats are numbers from 1",
        ),
        ({"kind": "drop_statement", **STATEMENT, "start": {"measure": 1.5, "beat": 1}}, "must be a whole number"),
        ({"kind": "relabel_statement", **STATEMENT}, "changes nothing"),
        ({"kind": "relabel_statement", **STATEMENT, "form": "sideways"}, "must be one of upright"),
        ({"kind": "rename_section", "first_measure": 1, "label": " "}, "must be a text"),
        ({"kind": "suggestion", "id": "x", "decision": "edit"}, "lacks 'text'"),
        ({"kind": "suggestion", "id": "x", "decision": "love"}, "must be one of accept, edit, drop"),
    ],
)
def test_a_correction_that_makes_no_sense_is_refused(json_form: dict[str, Any], message: str) -> None:
    """One sentence says what is wrong with it."""
    with pytest.raises(AnalysisError, match=message):
        correction_from_json(json_form)
