"""The notation of one hand alone: what the other hand plays is taken out, the time it takes stays."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from counterpane.model.piece import Hand, Measure
from counterpane.score.document import ScoreDocument
from counterpane.score.mei_tree import parse_mei, references, score_of, to_text
from counterpane.score.xml_door import XML_ID

_SHARED = {"tempo", "dynam", "hairpin", "dir", "reh"}
"""Marks that speak to both hands wherever they stand."""
_LENGTH = ("dur", "dots", "dur.ppq")


def keep_hand(document: ScoreDocument, hand: Hand, shown: Sequence[Measure]) -> str:
    """Return the MEI with the notes of `hand` only, on the staves that hold any in the measures shown."""
    tree = parse_mei(document.mei)
    score = score_of(tree)
    wanted = {head for note in document.piece.notes if note.hand == hand for head in note.heads}
    wanted |= {grace.id for grace in document.piece.graces if grace.hand == hand}
    staves = _staves_with(score, wanted, {measure.id for measure in shown})
    _silence(score, wanted)
    _drop_staves(score, staves)
    if len(staves) == 1:
        _drop_braces(score)
    for measure in score.iter("measure"):
        _drop_marks(measure, staves)
    return to_text(tree)


def _staves_with(score: Element, wanted: set[str], shown: set[str]) -> set[str]:
    staves = {
        staff.get("n", "1")
        for measure in score.iter("measure")
        if measure.attrib[XML_ID] in shown
        for staff in measure.findall("staff")
        if any(note.attrib[XML_ID] in wanted for note in staff.iter("note"))
    }
    return staves or {next((staff.get("n", "1") for staff in score.iter("staffDef")), "1")}


def _silence(element: Element, wanted: set[str]) -> None:
    """Put an empty space of the same length where a note of the other hand stood; its graces go."""
    kept: list[Element] = []
    for child in element:
        if child.tag == "chord":
            child[:] = [part for part in child if part.tag != "note" or part.attrib[XML_ID] in wanted]
        if child.tag not in {"note", "chord"}:
            _silence(child, wanted)
            kept.append(child)
        elif child.find("note") is not None or child.attrib[XML_ID] in wanted:
            kept.append(child)
        elif child.get("grace") is None:
            kept.append(_as_space(child))
    element[:] = kept


def _as_space(element: Element) -> Element:
    return Element("space", {key: element.attrib[key] for key in (*_LENGTH, XML_ID) if key in element.attrib})


def _drop_staves(element: Element, staves: set[str]) -> None:
    for child in list(element):
        if child.tag in {"staff", "staffDef"} and child.get("n", "1") not in staves:
            element.remove(child)
        elif child.tag not in {"layer", "note"}:
            _drop_staves(child, staves)
            if child.tag == "staffGrp" and child.find(".//staffDef") is None:
                element.remove(child)


def _drop_braces(score: Element) -> None:
    for group in score.iter("staffGrp"):
        group.attrib.pop("symbol", None)
        group[:] = [child for child in group if child.tag != "grpSym"]


def _drop_marks(measure: Element, staves: set[str]) -> None:
    """Keep marks whose notes are still there; those for both hands move to a staff that is left."""
    present = {element.attrib[XML_ID] for element in measure.iter() if element.tag in {"note", "chord", "rest"}}
    for child in list(measure):
        if child.tag == "staff":
            continue
        on_kept_staff = bool(set(child.get("staff", "").split()) & staves)
        begins = child.get("startid", "").lstrip("#")
        if child.tag in _SHARED:
            if not on_kept_staff:
                child.set("staff", min(staves))
            _detach(child, present)
        elif (
            (begins and begins not in present)
            or (child.get("staff") and not on_kept_staff and not begins)
            or (
                any(target not in present for target in references(child))
                and child.tag
                in {
                    "beamSpan",
                    "tupletSpan",
                }
            )
        ):
            measure.remove(child)


def _detach(mark: Element, present: set[str]) -> None:
    """Let a mark that stood at a note of the other hand stand at the measure's beginning and end instead."""
    for key, place, instead in (("startid", "tstamp", "1"), ("endid", "tstamp2", "0m+4")):
        if mark.get(key) and mark.get(key, "").lstrip("#") not in present:
            del mark.attrib[key]
            mark.set(place, mark.get(place, instead))
