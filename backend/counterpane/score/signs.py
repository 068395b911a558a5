"""Signs that point at notes: ties, ornaments and fermatas, as attributes or as elements beside the staves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from xml.etree.ElementTree import Element

from counterpane.score.heads import Head
from counterpane.score.mei_walk import MeasureDraft
from counterpane.score.xml_door import XML_ID

_ORNAMENTS = {
    ("trill", None): "trill",
    ("mordent", "lower"): "mordent",
    ("mordent", "upper"): "inverted-mordent",
    ("turn", "upper"): "turn",
    ("turn", "lower"): "inverted-turn",
}
_DEFAULT_FORM = {"mordent": "lower", "turn": "upper", "trill": None}


class Signs:
    """Finds what each sign belongs to. Heads are looked up by their own id, their chord's, or place."""

    def __init__(self, heads: Sequence[Head], drafts: Sequence[MeasureDraft]) -> None:
        self._drafts = drafts
        self._groups: dict[str, list[Head]] = defaultdict(list)
        self._by_measure: dict[int, list[Head]] = defaultdict(list)
        for head in heads:
            self._by_measure[head.measure].append(head)
            self._groups[head.group].append(head)
            if head.id != head.group:
                self._groups[head.id].append(head)
        self._heads = heads

    def ornaments(self) -> dict[str, tuple[str, ...]]:
        """Return the names of ornament signs by head; one on a chord belongs to its top note."""
        found: dict[str, list[str]] = defaultdict(list)
        for index, sign in self._control_events(_DEFAULT_FORM):
            heads = self._targets(index, sign)
            if heads:
                form = sign.get("form", _DEFAULT_FORM[sign.tag]) if sign.tag != "trill" else None
                name = _ORNAMENTS.get((sign.tag, form), sign.tag)
                top = max(heads, key=lambda head: head.pitch.diatonic)
                found[top.id].append(name)
        return {head: tuple(dict.fromkeys(names)) for head, names in found.items()}

    def fermatas(self, score: Element) -> frozenset[str]:
        """Return the heads under or over a fermata; all heads of a chord."""
        marked = {
            head.id for index, sign in self._control_events({"fermata"}) for head in self._targets(index, sign)
        }
        for element in score.iter():
            if element.tag in {"note", "chord"} and element.get("fermata"):
                marked.update(head.id for head in self._groups.get(element.attrib.get(XML_ID, ""), ()))
        return frozenset(marked)

    def ties(self, score: Element) -> dict[str, str]:
        """Map each tied head to the one that continues it: same pitch, beginning where the first ends.

        Files differ in how they mark the middle of a chain, so the end of a tie is looked for in the music
        whatever it points to.
        """
        begun = {
            token.lstrip("#")
            for _, tie in self._control_events({"tie"})
            for token in tie.get("startid", "").split()
        }
        for element in score.iter():
            if element.tag in {"note", "chord"} and element.get("tie", "")[:1] in {"i", "m"}:
                begun.update(head.id for head in self._groups.get(element.attrib.get(XML_ID, ""), ()))
        return _continuations(self._heads, begun)

    def _control_events(self, tags: Iterable[str]) -> Iterable[tuple[int, Element]]:
        wanted = set(tags)
        for index, draft in enumerate(self._drafts):
            for child in draft.element:
                if child.tag in wanted:
                    yield index, child

    def _targets(self, measure: int, sign: Element) -> list[Head]:
        start = sign.get("startid", "").lstrip("#")
        if start:
            return self._groups.get(start, [])
        return self._at_beat(measure, sign)

    def _at_beat(self, measure: int, sign: Element) -> list[Head]:
        draft = self._drafts[measure]
        try:
            beat = Fraction(sign.get("tstamp", ""))
        except (ValueError, ZeroDivisionError):
            return []
        onset = draft.onset + (beat - 1) * Fraction(4, draft.beat_unit)
        staves = set(sign.get("staff", "1").split())
        here = [head for head in self._by_measure[measure] if head.grace is None and str(head.staff) in staves]
        close = [head for head in here if abs(head.onset - onset) < Fraction(1, 16)]
        layers = {head.layer for head in close}
        return [head for head in close if head.layer == min(layers)]


def _continuations(heads: Sequence[Head], begun: set[str]) -> dict[str, str]:
    following: dict[tuple[int, Fraction], list[Head]] = defaultdict(list)
    for head in heads:
        if head.grace is None:
            following[head.pitch.midi, head.onset].append(head)
    ties: dict[str, str] = {}
    taken: set[str] = set()
    for head in heads:
        if head.id not in begun or head.grace is not None:
            continue
        candidates = [
            next_
            for next_ in following[head.pitch.midi, head.onset + head.duration]
            if next_.id not in taken and next_.id != head.id
        ]
        if candidates:
            best = min(candidates, key=lambda next_: (next_.layer != head.layer, next_.layer[0] != head.layer[0]))
            ties[head.id] = best.id
            taken.add(best.id)
    return ties
