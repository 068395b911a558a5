"""An assessment as JSON: the machine-readable face of `counterpane assess`.

Keys and values are those of the design (drill, notes, events, jumps, measures, findings); places are
{"measure", "beat", "offset"}. `findings` are the at most three that a student is told, most useful first;
`all_findings` is everything, for the teacher. Extra keys: `engine`, `by_measure` (what weak spots are counted
from), `warnings`.
"""

from __future__ import annotations

from dataclasses import asdict

from counterpane.listening.measures.shape import place_json
from counterpane.model.assessment import Assessment, Finding


def assessment_json(assessment: Assessment) -> dict[str, object]:
    """Return an assessment as one JSON-ready object."""
    passage, alignment = assessment.passage, assessment.alignment
    return {
        "engine": assessment.engine,
        "drill": {
            "hands": passage.hands,
            "measures": [passage.first_measure, passage.last_measure],
            "tempo": round(passage.tempo, 2),
        },
        "notes": [{"note": n.note, "status": n.status, "event": n.event} for n in alignment.notes],
        "events": [{"event": e.event, "status": e.status, "note": e.note, "run": e.run} for e in alignment.events],
        "jumps": [
            {
                "event": jump.event,
                "from": place_json(jump.from_place) if jump.from_place else None,
                "to": place_json(jump.to_place),
                "kind": jump.kind,
                "from_note": jump.from_note,
                "to_note": jump.to_note,
            }
            for jump in alignment.jumps
        ],
        "measures": assessment.measures,
        "findings": [finding_json(finding) for finding in assessment.for_student],
        "all_findings": [finding_json(finding) for finding in assessment.findings],
        "by_measure": [asdict(tally) for tally in assessment.tallies],
        "warnings": list(assessment.warnings),
    }


def finding_json(finding: Finding) -> dict[str, object]:
    """Return one finding as a JSON-ready object."""
    return {
        "kind": finding.kind,
        "hand": finding.hand,
        "place": place_json(finding.place),
        "end": place_json(finding.end),
        "text": finding.text,
        "next_step": finding.next_step,
        "notes": list(finding.notes),
        "weight": finding.weight,
        "evidence": finding.evidence,
    }
