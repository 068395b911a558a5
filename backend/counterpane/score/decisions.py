"""A teacher's musical decisions written into the notation as ordinary signs: hairpins, dots, slurs, words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from xml.etree.ElementTree import Element, SubElement

from counterpane.model.piece import Note
from counterpane.model.practice import Mark
from counterpane.score.document import ScoreDocument
from counterpane.score.mei_tree import parse_mei, score_of, to_text
from counterpane.score.xml_door import XML_ID

_HAIRPINS = {"crescendo": "cres", "diminuendo": "dim"}
_ARTICULATIONS = {"staccato": "stacc", "tenuto": "ten"}
_TEXTS = {"dynamic": "dynam", "words": "dir"}


def with_decisions(document: ScoreDocument, marks: Sequence[Mark]) -> ScoreDocument:
    """Return the document with the marks in it; ids stay.

    Notes that get a dot or a dash are staccato or tenuto in the piece too, so that what is listened for is what
    is printed. A mark whose notes are not in the piece is left out.
    """
    if not marks:
        return document
    page = _Page(document)
    for mark in marks:
        page.write(mark)
    notes = tuple(_articulated(note, page.articulations.get(note.id, ())) for note in document.piece.notes)
    return ScoreDocument(replace(document.piece, notes=notes), to_text(page.tree))


class _Page:
    """The notation while marks are written into it; `articulations` are those added, by note."""

    def __init__(self, document: ScoreDocument) -> None:
        self._piece = document.piece
        self.tree = parse_mei(document.mei)
        self.articulations: dict[str, tuple[str, ...]] = {}
        score = score_of(self.tree)
        self._measures = {measure.attrib[XML_ID]: measure for measure in score.iter("measure")}
        self._bearers: dict[str, Element] = {}
        self._staves: dict[str, str] = {}
        for staff in score.iter("staff"):
            self._note_bearers(staff)
        self._marks = sum(key.startswith("d") for key in self._ids())

    def write(self, mark: Mark) -> None:
        """Write one mark."""
        notes = [self._piece.by_id[note] for note in mark.notes if note in self._piece.by_id]
        if not notes:
            return
        if mark.kind in _ARTICULATIONS:
            self._articulate(notes, mark.kind)
        elif mark.kind in _TEXTS:
            self._at(notes[0], _TEXTS[mark.kind], {"place": "below"}).text = mark.text
        elif mark.kind == "slur":
            self._span(notes, "slur", {})
        else:
            self._span(notes, "hairpin", {"form": _HAIRPINS[mark.kind], "place": "below"})

    def _articulate(self, notes: Iterable[Note], kind: str) -> None:
        for note in notes:
            bearer = self._bearers[note.id]
            if _ARTICULATIONS[kind] not in _signs(bearer):
                bearer.insert(0, Element("artic", {"artic": _ARTICULATIONS[kind], XML_ID: self._new_id()}))
            self.articulations[note.id] = (*self.articulations.get(note.id, ()), kind)

    def _span(self, notes: Sequence[Note], tag: str, attributes: dict[str, str]) -> None:
        first, last = notes[0], notes[-1]
        if first.onset < last.onset:
            self._at(first, tag, {"endid": f"#{last.heads[-1] if last.heads else last.id}", **attributes})

    def _at(self, note: Note, tag: str, attributes: dict[str, str]) -> Element:
        """Add a mark that begins at a note, in the note's measure."""
        measure = self._measures[self._piece.measure_at(note.onset).id]
        place = {"startid": f"#{note.id}", "staff": self._staves[note.id]}
        return SubElement(measure, tag, {XML_ID: self._new_id(), **place, **attributes})

    def _note_bearers(self, staff: Element) -> None:
        """Remember for each note the element that bears its articulation: itself or its chord."""
        for element in staff.iter():
            for note in element.findall("note"):
                self._bearers[note.attrib[XML_ID]] = element if element.tag == "chord" else note
                self._staves[note.attrib[XML_ID]] = note.get("staff", staff.get("n", "1"))

    def _ids(self) -> Iterator[str]:
        return (element.attrib[XML_ID] for element in self.tree.iter() if XML_ID in element.attrib)

    def _new_id(self) -> str:
        self._marks += 1
        return f"d{self._marks}"


def _signs(bearer: Element) -> list[str]:
    signs = [bearer.get("artic", ""), *(sign.get("artic", "") for sign in bearer.findall("artic"))]
    return " ".join(signs).split()


def _articulated(note: Note, added: tuple[str, ...]) -> Note:
    return replace(note, articulations=tuple(dict.fromkeys((*note.articulations, *added)))) if added else note
