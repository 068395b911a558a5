"""MusicXML made ready for verovio: timewise turned to partwise, long rests parted, missing note types filled in.

Source: W3C MusicXML 4.0 (divisions are per quarter note; `<type>` is optional, `<duration>` is not).
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import lcm
from xml.etree.ElementTree import Element, SubElement, tostring

from counterpane.errors import UnreadableScore

_TYPES = {
    Fraction(32): "maxima", Fraction(16): "long", Fraction(8): "breve", Fraction(4): "whole", Fraction(2): "half",
    Fraction(1): "quarter", Fraction(1, 2): "eighth", Fraction(1, 4): "16th", Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th", Fraction(1, 32): "128th", Fraction(1, 64): "256th",
}  # fmt: skip
_MOST_DIVISIONS = 1_000_000
_DOTS = {Fraction(1): 0, Fraction(3, 2): 1, Fraction(7, 4): 2}


def prepare(root: Element, name: str) -> str:
    """Return MusicXML text for verovio. Raises `UnreadableScore` for a number that is none, with its measure."""
    if root.tag == "score-timewise":
        root = _partwise(root)
    for part in root.iter("part"):
        _part_rests(part)
        _share_divisions(part, name)
        _complete_types(part, name)
    return tostring(root, encoding="unicode")


def _partwise(timewise: Element) -> Element:
    root = Element("score-partwise", timewise.attrib)
    parts: dict[str, Element] = {}
    for child in timewise:
        if child.tag != "measure":
            root.append(child)
            continue
        for part in child.iter("part"):
            number = part.get("id", "")
            if number not in parts:
                parts[number] = Element("part", {"id": number})
            SubElement(parts[number], "measure", child.attrib).extend(part)
    root.extend(parts.values())
    return root


def _part_rests(part: Element) -> None:
    """Let each measure of a rest over several stand for itself: otherwise their numbers would be lost."""
    for style in part.iter("measure-style"):
        for sign in style.findall("multiple-rest"):
            style.remove(sign)


def _share_divisions(part: Element, name: str) -> None:
    """Count the whole part in one number of divisions a quarter, where the file changes it on the way."""
    divisions: set[int] = set()
    for measure in part.iter("measure"):
        for attributes in measure.iter("attributes"):
            divisions.add(int(_number(attributes, "divisions", Fraction(1), measure, name)))
    common = lcm(*divisions) if divisions else 1
    if len(divisions) < 2 or not 0 < common <= _MOST_DIVISIONS:
        return
    factor = Fraction(common)
    for element in part.iter():
        if element.tag == "divisions":
            factor = Fraction(common) / Fraction((element.text or "1").strip())
            element.text = str(common)
        elif element.tag in {"duration", "offset"} and re.fullmatch(r"\s*-?\d+\s*", element.text or ""):
            element.text = str(int(element.text or 0) * factor)


def _complete_types(part: Element, name: str) -> None:
    """Give each note without `<type>` the type and dots that its duration says, where it is a plain one."""
    divisions = Fraction(1)
    for measure in part.iter("measure"):
        for element in measure:
            if element.tag == "attributes":
                divisions = _number(element, "divisions", divisions, measure, name)
            elif element.tag in {"backup", "forward"}:
                _number(element, "duration", Fraction(0), measure, name)
            elif element.tag == "note" and element.find("grace") is None:
                duration = _number(element, "duration", Fraction(0), measure, name)
                if element.find("type") is None:
                    _add_type(element, duration / divisions if divisions else Fraction(0))


def _number(parent: Element, tag: str, default: Fraction, measure: Element, name: str) -> Fraction:
    text = parent.findtext(tag)
    if text is None:
        return default
    try:
        value = Fraction(text.strip())
    except (ValueError, ZeroDivisionError):
        value = Fraction(-1)
    if value < 0 or (tag == "divisions" and value == 0):
        raise UnreadableScore(
            f"measure {measure.get('number', '?')} has a <{tag}> that is no number above 0; export it again.",
            file=name,
        )
    return value


def _add_type(note: Element, quarters: Fraction) -> None:
    rest = note.find("rest")
    if quarters <= 0 or (rest is not None and rest.get("measure") == "yes"):
        return
    modification = note.find("time-modification")
    if modification is not None:
        actual, normal = modification.findtext("actual-notes"), modification.findtext("normal-notes")
        if actual and normal and actual.isdigit() and normal.isdigit() and int(normal):
            quarters *= Fraction(int(actual), int(normal))
    for factor, dots in _DOTS.items():
        if quarters / factor in _TYPES:
            position = _place_for_type(note)
            for offset in range(dots):
                note.insert(position + offset, Element("dot"))
            written = Element("type")
            written.text = _TYPES[quarters / factor]
            note.insert(position, written)
            return


def _place_for_type(note: Element) -> int:
    """`<type>` follows voice, tie, instrument and duration in a note."""
    before = {"grace", "cue", "chord", "pitch", "unpitched", "rest", "duration", "tie", "instrument", "footnote",
              "level", "voice"}  # fmt: skip
    return next((place for place, child in enumerate(note) if child.tag not in before), len(note))
