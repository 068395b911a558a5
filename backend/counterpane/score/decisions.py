"""A teacher's musical decisions written into the notation as ordinary signs: hairpins, staccato dots, slurs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal
from xml.etree.ElementTree import Element, SubElement

from counterpane.model.piece import Hand, Hands, Note
from counterpane.score.document import ScoreDocument
from counterpane.score.engraving import measures_between
from counterpane.score.mei_tree import parse_mei, score_of, to_text
from counterpane.score.xml_door import XML_ID

_HAIRPINS = {"grow": "cres", "fade": "dim"}


@dataclass(frozen=True)
class Mark:
    """One decision over measures as printed, both included, for one hand or both.

    With `notes` (ids) it is about these notes only, inside the measures.
    """

    kind: Literal["grow", "fade", "separate", "joined"]
    hands: Hands
    first_measure: int
    last_measure: int
    notes: tuple[str, ...] = ()


def with_decisions(document: ScoreDocument, marks: Sequence[Mark]) -> ScoreDocument:
    """Return the document with the marks in it; ids stay, and notes marked separate are staccato in the piece too.

    "grow" and "fade" become hairpins from the first to the last note, "separate" staccato dots, "joined" a slur
    for each voice. Raises `UnsuitableScore` when a mark names measures that the piece does not have.
    """
    if not marks:
        return document
    page = _Page(document)
    for mark in marks:
        page.write(mark)
    notes = tuple(_with_dot(note) if note.id in page.dotted else note for note in document.piece.notes)
    return ScoreDocument(replace(document.piece, notes=notes), to_text(page.tree))


class _Page:
    """The notation while marks are written into it."""

    def __init__(self, document: ScoreDocument) -> None:
        self._piece = document.piece
        self.tree = parse_mei(document.mei)
        score = score_of(self.tree)
        self.dotted: set[str] = set()
        self._measures = {measure.attrib[XML_ID]: measure for measure in score.iter("measure")}
        self._bearers: dict[str, Element] = {}
        self._staves: dict[str, str] = {}
        for staff in score.iter("staff"):
            self._note_bearers(staff)
        self._marks = sum(key.startswith("d") for key in self._ids())

    def write(self, mark: Mark) -> None:
        """Write one mark; nothing happens where the hand has no note."""
        for hand in _each(mark.hands) if mark.kind in {"separate", "joined"} else [mark.hands]:
            notes = self._notes(mark, hand)
            if not notes:
                continue
            if mark.kind == "separate":
                self._dots(notes)
            elif mark.kind == "joined":
                for voice in sorted({note.voice for note in notes}):
                    line = [note for note in notes if note.voice == voice]
                    self._span("slur", line, {})
            else:
                self._span("hairpin", notes, {"form": _HAIRPINS[mark.kind], "place": "below"})

    def _notes(self, mark: Mark, hands: Hands) -> list[Note]:
        shown = measures_between(self._piece, mark.first_measure, mark.last_measure)
        begin, end = shown[0].onset, shown[-1].end
        return [
            note
            for note in self._piece.notes
            if begin <= note.onset < end
            and hands in {"both", note.hand}
            and (not mark.notes or note.id in mark.notes)
        ]

    def _dots(self, notes: Iterable[Note]) -> None:
        for note in notes:
            bearer = self._bearers[note.id]
            signs = bearer.get("artic", "").split() + [sign.get("artic", "") for sign in bearer.findall("artic")]
            if "stacc" not in " ".join(signs).split():
                bearer.insert(0, Element("artic", {"artic": "stacc", XML_ID: self._new_id()}))
            self.dotted.add(note.id)

    def _span(self, tag: str, notes: Sequence[Note], attributes: dict[str, str]) -> None:
        first, last = notes[0], max(notes, key=lambda note: (note.onset, note.end))
        if first.onset == last.onset:
            return
        measure = self._measures[self._piece.measure_at(first.onset).id]
        ends = {"startid": f"#{first.id}", "endid": f"#{last.heads[-1] if last.heads else last.id}"}
        SubElement(measure, tag, {XML_ID: self._new_id(), "staff": self._staves[first.id], **ends, **attributes})

    def _note_bearers(self, staff: Element) -> None:
        """Remember for each note the element that bears its articulation: itself or its chord."""
        for element in staff.iter():
            for note in element.findall("note"):
                self._bearers[note.attrib[XML_ID]] = element if element.tag == "chord" else note
                self._staves[note.attrib[XML_ID]] = note.get("staff", staff.get("n", "1"))

    def _ids(self) -> Iterable[str]:
        return (element.attrib[XML_ID] for element in self.tree.iter() if XML_ID in element.attrib)

    def _new_id(self) -> str:
        self._marks += 1
        return f"d{self._marks}"


def _each(hands: Hands) -> list[Hand]:
    return ["right", "left"] if hands == "both" else [hands]


def _with_dot(note: Note) -> Note:
    return (
        note
        if "staccato" in note.articulations
        else replace(note, articulations=(*note.articulations, "staccato"))
    )
