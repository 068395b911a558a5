"""Measures as printed: their numbers, pickups, the second halves of divided measures, repeats and endings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from counterpane.model.piece import Measure
from counterpane.score.mei_walk import MeasureDraft
from counterpane.score.xml_door import XML_ID

_REPEAT_STARTS = {"rptstart", "rptboth"}
_SHOWN = 8
_REPEAT_ENDS = {"rptend", "rptboth"}


def build_measures(drafts: Sequence[MeasureDraft]) -> tuple[Measure, ...]:
    """Return the measures in order, numbered as printed.

    A first measure shorter than its meter is a pickup, and its padding what is missing. A short measure that
    completes the short one before it (a repeat sign in mid-measure) is padded likewise, so that its beats are
    those of the whole. Measures that the notation left without a number get theirs written in.
    """
    measures: list[Measure] = []
    for draft in drafts:
        before = measures[-1] if measures else None
        padding = _padding(draft, before)
        left, right = draft.element.get("left"), draft.element.get("right")
        both_before = len(measures) > 0 and drafts[len(measures) - 1].element.get("right") == "rptboth"
        number = _number(draft, padding, before)
        draft.element.set("n", str(number))
        measures.append(
            Measure(
                id=draft.element.attrib[XML_ID],
                index=len(measures),
                number=number,
                onset=draft.onset,
                length=draft.length,
                beats=draft.beats,
                beat_unit=draft.beat_unit,
                padding=padding,
                repeat_start=left in _REPEAT_STARTS or both_before,
                repeat_end=right in _REPEAT_ENDS,
                endings=draft.endings,
            )
        )
    return tuple(measures)


def overfull(measures: Sequence[Measure]) -> tuple[str, ...]:
    """Return a warning that names the measures which hold more than their meter says, if there are any."""
    numbers = [str(m.number) for m in measures if m.length > Fraction(4 * m.beats, m.beat_unit)]
    if not numbers:
        return ()
    shown = ", ".join(numbers[:_SHOWN]) + (" and others" if len(numbers) > _SHOWN else "")
    return (f"More notes than the meter allows stand in measure {shown}; compare with the page.",)


def _padding(draft: MeasureDraft, before: Measure | None) -> Fraction:
    missing = draft.nominal - draft.length
    if missing <= 0:
        return Fraction(0)
    if before is None:
        return missing
    halves = before.length + draft.length == draft.nominal and not before.padding
    return before.length if halves and before.index > 0 else Fraction(0)


def _number(draft: MeasureDraft, padding: Fraction, before: Measure | None) -> int:
    printed = draft.element.get("n", "")
    digits = re.match(r"\d{1,6}", printed)
    if digits:
        return int(digits[0])
    if before is None:
        return 0 if padding else 1
    return before.number if padding else before.number + 1
