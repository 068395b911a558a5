"""One layer of one measure: its notes in time."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial
from typing import NoReturn
from xml.etree.ElementTree import Element

from counterpane.errors import UnreadableScore, UnsuitableScore
from counterpane.score.durations import (
    alter_in_key,
    head_pitch,
    integer,
    sounding_duration,
    stated_alter,
)
from counterpane.score.heads import Head, Layer
from counterpane.score.signatures import Signatures
from counterpane.score.xml_door import XML_ID

_TIMED = {"rest", "space", "note", "chord"}
_WHOLE = {"mRest", "mSpace"}
_REPEAT_SIGNS = {"mRpt", "mRpt2", "multiRpt", "beatRpt", "halfmRpt"}
_ARTICULATIONS = {
    "stacc": "staccato", "acc": "accent", "ten": "tenuto", "stacciss": "staccatissimo", "marc": "strong-accent",
    "spicc": "spiccato",
}  # fmt: skip


@dataclass
class MeasureContext:
    """What the layers of one measure share. Accidentals hold for the measure where notes do not state theirs."""

    file: str
    index: int
    number: str | None
    onset: Fraction
    signatures: Signatures
    alterations_stated: bool
    rest_measures: int = 1
    unpitched: int = 0
    _signs: dict[tuple[int, str, int], int] = field(default_factory=dict)

    def implied_alter(self, staff: int, step: str, octave: int) -> int:
        """Return the alteration of a note that states none: by the measure so far, else by the key."""
        if self.alterations_stated:
            return 0
        return self._signs.get((staff, step, octave), alter_in_key(step, self.signatures.fifths(staff)))

    def remember(self, staff: int, note: Element, step: str, octave: int) -> None:
        """Keep a note's accidental for the rest of the measure."""
        alter = stated_alter(note)
        if alter is not None:
            self._signs[staff, step, octave] = alter


class LayerWalk:
    """Walks one layer; `heads` are its notes, `length` what can be counted in it (quarters), else None."""

    def __init__(self, context: MeasureContext, layer: Layer) -> None:
        self._context = context
        self._layer = layer
        self._at = context.onset
        self._counted = False
        self._tuplets: dict[str, Fraction] = {}
        self.heads: list[Head] = []

    @property
    def length(self) -> Fraction | None:
        """How long the layer lasts, in quarters; None when it holds whole-measure rests or nothing."""
        return self._at - self._context.onset if self._counted else None

    def run(self, element: Element, spans: dict[str, Fraction]) -> None:
        """Walk a whole `layer` element; `spans` are tuplet factors by note id, from marks beside the staves."""
        self._tuplets = spans
        self._children(element, Fraction(1), None, element.get("visible") != "false")

    def _children(self, element: Element, factor: Fraction, grace: str | None, visible: bool) -> None:
        for child in element:
            if child.tag in _TIMED:
                self._event(child, factor, grace, visible)
            elif child.tag in _WHOLE:
                continue
            elif child.tag == "multiRest":
                self._context.rest_measures = max(1, min(999, integer(child.get("num"), 1)))
            elif child.tag in _REPEAT_SIGNS:
                self._refuse_repeat()
            elif child.tag == "keySig":
                self._context.signatures.set_key(self._layer[0], child.get("sig", ""), child.get("mode"), self._at)
            elif child.tag == "meterSig":
                self._context.signatures.set_meter(child.get("count"), child.get("unit"), child.get("sym"))
            else:
                within = child.get("grace", "acc") if child.tag == "graceGrp" else grace
                self._children(child, factor * _factor(child), within, visible)

    def _event(self, element: Element, factor: Fraction, grace: str | None, visible: bool) -> None:
        kind = _grace_kind(element, grace)
        length = Fraction(0)
        if kind is None and element.get("cue") != "true":
            length = self._length(element, factor * self._tuplets.get(element.attrib.get(XML_ID, ""), Fraction(1)))
        if visible and element.tag in {"note", "chord"} and element.get("visible") != "false":
            self._notes(element, kind, length)
        if kind is None:
            self._at += length
            self._counted = True

    def _length(self, element: Element, factor: Fraction) -> Fraction:
        ppq = self._context.signatures.ppq(self._layer[0])
        found = sounding_duration(element, factor, ppq)
        first = element.find("note")
        if found is None and first is not None:
            found = sounding_duration(first, factor, ppq)
        if found is None or found > 1000:
            self._refuse_length()
        return found

    def _notes(self, element: Element, grace: str | None, length: Fraction) -> None:
        shared = _articulations(element)
        for note in [element] if element.tag == "note" else element.findall("note"):
            if note.get("visible") == "false" or "true" in {note.get("cue"), element.get("cue")}:
                continue
            staff = integer(note.get("staff", element.get("staff")), self._layer[0])
            pitch = head_pitch(note, partial(self._context.implied_alter, staff))
            if pitch is None:
                self._context.unpitched += 1
                continue
            self._context.remember(staff, note, pitch.step, pitch.octave)
            own = _articulations(note) if note is not element else ()
            self.heads.append(
                Head(
                    id=note.attrib[XML_ID],
                    group=element.attrib[XML_ID],
                    staff=staff,
                    layer=self._layer,
                    measure=self._context.index,
                    onset=self._at,
                    duration=length,
                    pitch=pitch,
                    grace=grace,
                    articulations=tuple(dict.fromkeys((*shared, *own))),
                )
            )

    def _refuse_length(self) -> NoReturn:
        raise UnreadableScore(
            "a note or rest has no length that can be read; export the score again.",
            file=self._context.file,
            measure=integer(self._context.number, self._context.index + 1),
        )

    def _refuse_repeat(self) -> NoReturn:
        raise UnsuitableScore(
            "the score uses a sign for repeating a beat or a measure; write the notes out.",
            file=self._context.file,
            measure=integer(self._context.number, self._context.index + 1),
        )


def _articulations(element: Element) -> tuple[str, ...]:
    signs = element.get("artic", "").split()
    for child in element.findall("artic"):
        signs += child.get("artic", "").split()
    return tuple(_ARTICULATIONS[sign] for sign in signs if sign in _ARTICULATIONS)


def _grace_kind(element: Element, within: str | None) -> str | None:
    """Return "slashed" or "unslashed" for a grace note or chord, None for a measured one."""
    parts = [element, *element.findall("note")]
    kind = next((part.get("grace") for part in parts if part.get("grace")), within)
    if kind is None or element.tag in {"rest", "space"}:
        return "unslashed" if kind is not None else None
    return "slashed" if kind == "unacc" or any(part.get("stem.mod") == "1slash" for part in parts) else "unslashed"


def _factor(element: Element) -> Fraction:
    if element.tag == "fTrem":
        return Fraction(1, 2)
    return tuplet_factor(element) if element.tag == "tuplet" else Fraction(1)


def tuplet_factor(element: Element) -> Fraction:
    """Return what a tuplet does to the lengths inside it: 2/3 for a triplet."""
    number, base = integer(element.get("num"), 3), integer(element.get("numbase"), 2)
    return Fraction(base, number) if number > 0 and base > 0 else Fraction(1)
