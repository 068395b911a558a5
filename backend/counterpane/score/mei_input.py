"""MEI made ready for verovio, which reads ties in attributes literally and loses part of a loose chain."""

from __future__ import annotations

from xml.etree.ElementTree import Element


def repair_ties(root: Element) -> None:
    """Mark the notes of each chain of ties "i", "m" … "t"; files write "i" in the middle too."""
    waiting: dict[tuple[str, str], set[tuple[str, str]]] = {}
    for staff in root.iter("staff"):
        for layer in staff.findall("layer"):
            line = waiting.setdefault((staff.get("n", "1"), layer.get("n", "1")), set())
            for outer in layer.iter():
                if outer.tag in {"chord", "note"} and outer.get("grace") is None:
                    _continue(outer, line)


def _continue(outer: Element, line: set[tuple[str, str]]) -> None:
    if outer.tag == "chord":
        shared = outer.attrib.pop("tie", None)
        for note in outer.findall("note"):
            if shared and "tie" not in note.attrib:
                note.set("tie", shared)
        return  # its notes follow, one by one
    pitch = (outer.get("pname", ""), outer.get("oct", ""))
    waited = pitch in line
    line.discard(pitch)
    goes_on = outer.get("tie", "")[:1] in {"i", "m"}
    if waited:
        outer.set("tie", "m" if goes_on else "t")
    elif goes_on:
        outer.set("tie", "i")
    if goes_on:
        line.add(pitch)
