"""The MEI that verovio gives, made into ours: one score, only what a keyboard player reads, stable ids."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element, ParseError, SubElement, tostring

from counterpane.errors import UnreadableScore
from counterpane.score.xml_door import XML_ID, parse_own_xml

_NAMESPACE = "http://www.music-encoding.org/ns/mei"
# Layout, playback order and words of the source; sung text has no place above a keyboard's staff.
_LEFT_OUT = {
    "extMeta",
    "pb",
    "sb",
    "cb",
    "pgHead",
    "pgFoot",
    "expansion",
    "verse",
    "syl",
    "annot",
    "facsimile",
    "mNum",
}
# Of editorial alternatives the first of these that is there is read.
_ALTERNATIVES = {"app": ("lem", "rdg"), "choice": ("corr", "reg", "expan", "sic", "orig", "abbr")}
_WRAPPERS = {"lem", "rdg", "corr", "reg", "expan", "sic", "orig", "abbr", "supplied", "add", "unclear", "subst"}
_GLYPHS = {
    "\ueca2": "\U0001d15d",
    "\ueca3": "\U0001d15e",
    "\ueca5": "\u2669",
    "\ueca7": "\u266a",
    "\ueca9": "\u266c",
    "\uecb7": ".",
}
"""Metronome glyphs of SMuFL (Standard Music Font Layout) and the Unicode signs of the same note values."""
_CONTENT = ("note", "chord", "rest", "space")
_DROPPED_EDITS = {"del", "ossia", "restore"}


def normalise(mei: str, name: str) -> tuple[Element, int]:
    """Return the tree of the first movement, and how many movements the file holds.

    Its ids are deterministic: measures m1, m2, …, notes n1, n2, …, others e1, e2, ….
    """
    try:
        root = parse_own_xml(mei)
    except ParseError as error:
        raise UnreadableScore(
            "the file holds characters that no score has; export it again from your notation program.", file=name
        ) from error
    score = root.find(".//score")
    if score is None:
        raise UnreadableScore("the file holds no score; export it again from your notation program.", file=name)
    _clean(score)
    _drop_empty_start(score)
    _plain_glyphs(score)
    tree = Element("mei", {"xmlns": _NAMESPACE, "meiversion": root.get("meiversion", "5.1")})
    tree.append(_head(*title_and_composer(root)))
    mdiv = SubElement(SubElement(SubElement(tree, "music"), "body"), "mdiv")
    mdiv.append(score)
    _rename_ids(tree)
    return tree, len(root.findall(".//mdiv"))


def to_text(tree: Element) -> str:
    """Return the tree as MEI text."""
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(tree, encoding="unicode")


def parse_mei(mei: str) -> Element:
    """Return the tree of MEI text that `to_text` wrote."""
    tree = parse_own_xml(mei)
    tree.set("xmlns", _NAMESPACE)
    return tree


def title_and_composer(root: Element) -> tuple[str, str]:
    """Return what the MEI header says, or empty strings."""
    title = next((words for element in root.iter("title") if (words := _words(element))), "")
    composers = [person for person in root.iter("persName") if person.get("role") == "composer"]
    composer = next((words for element in [*root.iter("composer"), *composers] if (words := _words(element))), "")
    return title, composer


def drop_part_names(tree: Element) -> None:
    """Take the names of parts out of the notation: a phone's width belongs to the notes."""
    for parent in tree.iter():
        if parent.tag in {"staffGrp", "staffDef"}:
            parent[:] = [child for child in parent if child.tag not in {"label", "labelAbbr"}]
            for key in ("label", "label.abbr"):
                parent.attrib.pop(key, None)


def score_of(tree: Element) -> Element:
    """Return the `score` element of a normalised tree."""
    score = tree.find(".//score")
    assert score is not None
    return score


def references(element: Element) -> Iterator[str]:
    """Yield the ids that an element's attributes point to."""
    for key in ("startid", "endid", "plist"):
        for token in element.get(key, "").split():
            yield token.lstrip("#")


def _words(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


def _head(title: str, composer: str) -> Element:
    head = Element("meiHead")
    description = SubElement(head, "fileDesc")
    statement = SubElement(description, "titleStmt")
    SubElement(statement, "title").text = title
    SubElement(statement, "composer").text = composer
    SubElement(description, "pubStmt")
    return head


def _clean(element: Element) -> None:
    """Drop what is left out, and put the chosen reading in the place of each editorial element."""
    children: list[Element] = []
    for child in element:
        if child.tag not in _LEFT_OUT and child.tag not in _DROPPED_EDITS:
            children.extend(_chosen(child))
    for child in children:
        _clean(child)
    element[:] = children


def _chosen(element: Element) -> list[Element]:
    if element.tag in _ALTERNATIVES:
        for wanted in _ALTERNATIVES[element.tag]:
            reading = element.find(wanted)
            if reading is not None:
                return _chosen(reading)
        return []
    if element.tag in _WRAPPERS:
        return [
            chosen
            for child in element
            if child.tag not in _LEFT_OUT and child.tag not in _DROPPED_EDITS
            for chosen in _chosen(child)
        ]
    return [element]


def _plain_glyphs(score: Element) -> None:
    """Write the note values of metronome marks in plain characters, which need no music font in the page."""
    for rend in score.iter("rend"):
        if rend.attrib.pop("glyph.auth", None) is not None and rend.text:
            rend.text = "".join(_GLYPHS.get(character, character) for character in rend.text)
            rend.attrib.pop("fontfam", None)


def _drop_empty_start(score: Element) -> None:
    """Drop a measure 0 in which nothing stands: some files begin with one."""
    first = next(score.iter("measure"), None)
    if first is None or first.get("n") != "0" or any(first.find(f".//{tag}") is not None for tag in _CONTENT):
        return
    for parent in score.iter():
        if first in list(parent):
            parent.remove(first)
            return


def _rename_ids(tree: Element) -> None:
    counts = {"m": 0, "n": 0, "e": 0}
    names: dict[str, str] = {}
    for element in tree.iter():
        letter = {"measure": "m", "note": "n"}.get(element.tag, "e")
        if letter == "e" and XML_ID not in element.attrib and element.tag not in _CONTENT:
            continue
        counts[letter] += 1
        name = f"{letter}{counts[letter]}"
        if XML_ID in element.attrib:
            names[element.attrib[XML_ID]] = name
        element.attrib[XML_ID] = name
    for element in tree.iter():
        for key in ("startid", "endid", "plist", "corresp", "copyof", "sameas", "next", "prev", "synch"):
            if key in element.attrib:
                tokens = [token.lstrip("#") for token in element.attrib[key].split()]
                element.attrib[key] = " ".join(f"#{names.get(token, token)}" for token in tokens)
