"""Walking normalised MEI measure by measure: where each notehead lies in time, exactly.

A measure lasts as long as the longest layer in it; where there is nothing to count (whole-measure rests), as long
as the meter says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from xml.etree.ElementTree import Element

from counterpane.score import limits
from counterpane.score.durations import integer
from counterpane.score.heads import Head, Staff
from counterpane.score.layer_walk import LayerWalk, MeasureContext, tuplet_factor
from counterpane.score.mei_tree import references
from counterpane.score.refusals import too_many_notes
from counterpane.score.signatures import Signatures
from counterpane.score.staves import read_staves
from counterpane.score.xml_door import XML_ID


@dataclass(frozen=True)
class MeasureDraft:
    """One measure as walked; `length` in quarters, of its content or else of its meter."""

    element: Element
    onset: Fraction
    length: Fraction
    beats: int
    beat_unit: int
    endings: tuple[int, ...]
    has_content: bool

    @property
    def nominal(self) -> Fraction:
        """What the meter says, in quarters."""
        return Fraction(4 * self.beats, self.beat_unit)


class Walk:
    """Walks a `score` element from beginning to end and keeps what it finds."""

    def __init__(self, score: Element, name: str) -> None:
        self._name = name
        self._now = Fraction(0)
        self._alterations_stated = any(
            element.get("accid.ges") is not None for element in score.iter() if element.tag in {"note", "accid"}
        )
        self.staves: tuple[Staff, ...] = ()
        self.measures: list[MeasureDraft] = []
        self.heads: list[Head] = []
        self.unpitched = 0
        self.signatures = Signatures()
        self._section(score, ())

    def _section(self, element: Element, endings: tuple[int, ...]) -> None:
        for child in element:
            if child.tag == "scoreDef" and not self.staves:
                self.staves = read_staves(child)
                self.signatures.top_staff = self.staves[0].number if self.staves else 1
            if child.tag in {"scoreDef", "staffDef"}:
                self.signatures.define(child, self._now)
            elif child.tag == "measure":
                self._measure(child, endings)
            elif child.tag == "ending":
                self._section(child, tuple(int(number) for number in re.findall(r"\d{1,3}", child.get("n", ""))))
            elif child.tag == "section":
                self._section(child, endings)

    def _measure(self, element: Element, endings: tuple[int, ...]) -> None:
        context = MeasureContext(
            self._name, len(self.measures), element.get("n"), self._now, self.signatures, self._alterations_stated
        )
        spans = _tuplet_spans(element)
        counted = []
        for staff in element.findall("staff"):
            for place, layer in enumerate(staff.findall("layer"), 1):
                walk = LayerWalk(context, (integer(staff.get("n"), 1), integer(layer.get("n"), place)))
                walk.run(layer, spans)
                self.heads += walk.heads
                if walk.length:
                    counted.append(walk.length)
        for tempo in element.findall("tempo"):
            self.signatures.mark_tempo(tempo)
        self.unpitched += context.unpitched
        beats, beat_unit = self.signatures.meter
        length = max(counted, default=Fraction(4 * beats, beat_unit) * context.rest_measures)
        self.measures.append(
            MeasureDraft(element, self._now, length, beats, beat_unit, endings, has_content=bool(counted))
        )
        self._now += length
        if len(self.heads) > limits.NOTES:
            raise too_many_notes(self._name)


def _tuplet_spans(measure: Element) -> dict[str, Fraction]:
    """Return the factor of each note under a `tupletSpan`, by its id."""
    factors: dict[str, Fraction] = {}
    for span in measure.findall("tupletSpan"):
        targets = list(references(span))
        if len(targets) < 2:
            continue
        listed = targets if span.get("plist") else _between(measure, targets[0], targets[1])
        factors.update(dict.fromkeys(listed, tuplet_factor(span)))
    return factors


def _between(measure: Element, first: str, last: str) -> list[str]:
    """Return the ids of the notes, chords and rests of one layer from `first` to `last`."""
    for layer in measure.iter("layer"):
        ids = [
            item.attrib.get(XML_ID, "") for item in layer.iter() if item.tag in {"note", "chord", "rest", "space"}
        ]
        if first in ids and last in ids:
            return ids[ids.index(first) : ids.index(last) + 1]
    return []
