"""The staves of a score and the parts they belong to, from the score's definition."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from counterpane.score.durations import integer
from counterpane.score.heads import Staff


def read_staves(definition: Element) -> tuple[Staff, ...]:
    """Return the staves of a `scoreDef`, from the top.

    A group of staves with a brace or a name is one part; a staff outside of such a group is a part of its own.
    """
    staves: list[Staff] = []
    _group(definition, "", "", staves)
    return tuple(staves)


def _group(element: Element, part: str, label: str, staves: list[Staff]) -> None:
    own_label = " ".join((element.findtext("label") or element.get("label") or "").split())
    if element.tag == "staffDef":
        n = integer(element.get("n"), len(staves) + 1)
        staves.append(Staff(n, part or f"staff {n}", own_label or label, _clef(element) == "perc"))
        return
    one_part = (
        element.tag == "staffGrp" and len(element.findall("staffDef")) > 1 and (_braced(element) or own_label)
    )
    if one_part and not part:
        part = f"group {len(staves)}"
    for child in element:
        if child.tag in {"staffGrp", "staffDef"}:
            _group(child, part, own_label or label, staves)


def _braced(group: Element) -> bool:
    symbol = group.find("grpSym")
    return "brace" in {group.get("symbol"), symbol.get("symbol") if symbol is not None else None}


def _clef(staff: Element) -> str | None:
    clef = staff.find("clef")
    return clef.get("shape") if clef is not None else staff.get("clef.shape")
