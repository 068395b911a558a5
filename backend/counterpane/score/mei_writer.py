"""Writing a `Sketch` as MEI: beams by beat, accidentals as the key and the measure ask for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import count
from xml.etree.ElementTree import Element, SubElement, tostring

from counterpane.model.piece import Pitch
from counterpane.score.durations import alter_in_key
from counterpane.score.sketch import VALUES, Bar, Sketch, StaffLine, Symbol
from counterpane.score.xml_door import XML_ID

_ACCIDENTALS = {-3: "tf", -2: "ff", -1: "f", 0: "n", 1: "s", 2: "x", 3: "xs"}
_ORNAMENTS = {
    "trill": ("trill", None),
    "mordent": ("mordent", "lower"),
    "inverted-mordent": ("mordent", "upper"),
    "turn": ("turn", "upper"),
    "inverted-turn": ("turn", "lower"),
}
_ARTICULATIONS = {"staccato": "stacc", "accent": "acc", "tenuto": "ten"}
_BREVE = Fraction(8)


def write_mei(sketch: Sketch) -> str:
    """Return the MEI of a sketch."""
    root = Element("mei", {"xmlns": "http://www.music-encoding.org/ns/mei", "meiversion": "5.1"})
    description = SubElement(SubElement(root, "meiHead"), "fileDesc")
    titles = SubElement(description, "titleStmt")
    SubElement(titles, "title").text = sketch.title
    SubElement(titles, "composer").text = sketch.composer
    SubElement(description, "pubStmt")
    score = SubElement(SubElement(SubElement(SubElement(root, "music"), "body"), "mdiv"), "score")
    _Writer(sketch).write(score)
    return tostring(root, encoding="unicode")


class _Writer:
    """Carries what holds from measure to measure: meter, key, and which pitches are tied over."""

    def __init__(self, sketch: Sketch) -> None:
        self._sketch = sketch
        self._ids = count(1)
        self._beat = Fraction(1)
        self._fifths = 0
        self._tied: dict[tuple[int, int], set[Pitch]] = {}
        self._signs: dict[tuple[str, int], int] = {}

    def write(self, score: Element) -> None:
        """Fill the `score` element."""
        self._define(SubElement(score, "scoreDef"))
        section = SubElement(score, "section")
        parent = section
        open_ending: tuple[int, ...] = ()
        for index, bar in enumerate(self._sketch.bars):
            if index and (bar.meter or bar.fifths is not None):
                self._signatures(SubElement(section, "scoreDef"), bar)
            if bar.endings != open_ending:
                open_ending = bar.endings
                numbers = ", ".join(map(str, bar.endings))
                parent = SubElement(section, "ending", {"n": numbers}) if bar.endings else section
            self._measure(SubElement(parent, "measure"), index, bar)

    def _define(self, definition: Element) -> None:
        self._signatures(definition, self._sketch.bars[0])
        if self._sketch.tempo is not None:
            definition.set("midi.bpm", f"{self._sketch.tempo:g}")
        group = SubElement(definition, "staffGrp")
        if self._sketch.braced and len(self._sketch.staves) > 1:
            group.set("symbol", "brace")
            group.set("bar.thru", "true")
        for number, staff in enumerate(self._sketch.staves, 1):
            staff_def = SubElement(group, "staffDef", {"n": str(number), "lines": "5"})
            if staff.label:
                SubElement(staff_def, "label").text = staff.label
            SubElement(staff_def, "clef", {"shape": staff.clef, "line": "2" if staff.clef == "G" else "4"})

    def _signatures(self, definition: Element, bar: Bar) -> None:
        if bar.fifths is not None:
            self._fifths = bar.fifths
            sign = f"{abs(bar.fifths)}{'s' if bar.fifths > 0 else 'f'}" if bar.fifths else "0"
            key = SubElement(definition, "keySig", {"sig": sign})
            if bar.mode:
                key.set("mode", bar.mode)
        if bar.meter:
            beats, unit = bar.meter
            self._beat = Fraction(12, unit) if beats % 3 == 0 and beats > 3 and unit >= 8 else Fraction(4, unit)
            SubElement(definition, "meterSig", {"count": str(beats), "unit": str(unit)})

    def _measure(self, measure: Element, index: int, bar: Bar) -> None:
        if bar.number is not None:
            measure.set("n", str(bar.number))
        if bar.repeat_start:
            measure.set("left", "rptstart")
        if bar.repeat_end:
            measure.set("right", "rptend")
        elif index == len(self._sketch.bars) - 1:
            measure.set("right", "end")
        marks: list[Element] = []
        for number, staff in enumerate(self._sketch.staves, 1):
            self._signs.clear()
            self._staff(SubElement(measure, "staff", {"n": str(number)}), number, staff, index, marks)
        measure.extend(marks)

    def _staff(self, element: Element, number: int, staff: StaffLine, index: int, marks: list[Element]) -> None:
        layers = staff.bars[index]
        if not any(layers):
            SubElement(SubElement(element, "layer", {"n": "1"}), "mRest")
        for place, symbols in enumerate(layers, 1):
            if not symbols:
                continue
            layer = SubElement(element, "layer", {"n": str(place)})
            for group in _beams(symbols, self._beat):
                parent = SubElement(layer, "beam") if len(group) > 1 else layer
                self._symbols(parent, group, (number, place), marks)

    def _symbols(
        self, parent: Element, symbols: Sequence[Symbol], layer: tuple[int, int], marks: list[Element]
    ) -> None:
        tuplet: Element | None = None
        for symbol in symbols:
            if symbol.tuplet is None:
                tuplet = None
            elif tuplet is None or symbol.opens:
                number, base = symbol.tuplet
                tuplet = SubElement(parent, "tuplet", {"num": str(number), "numbase": str(base)})
            self._symbol(parent if tuplet is None else tuplet, symbol, layer, marks)

    def _symbol(self, parent: Element, symbol: Symbol, layer: tuple[int, int], marks: list[Element]) -> None:
        value, dots = VALUES[symbol.written]
        length = {"dur": "breve" if value == _BREVE else str(int(4 / value))}
        if dots:
            length["dots"] = str(dots)
        if not symbol.pitches:
            SubElement(parent, "rest", length)
            return
        outer = SubElement(parent, "note" if len(symbol.pitches) == 1 else "chord", length)
        outer.set(XML_ID, f"w{next(self._ids)}")
        if symbol.grace:
            outer.set("grace", "unacc" if symbol.grace == "slashed" else "acc")
        signs = [_ARTICULATIONS[name] for name in symbol.articulations if name in _ARTICULATIONS]
        if signs:
            outer.set("artic", " ".join(signs))
        self._pitches(outer, symbol, layer)
        marks.extend(_marks(symbol, outer.attrib[XML_ID], layer[0]))

    def _pitches(self, outer: Element, symbol: Symbol, layer: tuple[int, int]) -> None:
        before = set() if symbol.grace else self._tied.pop(layer, set())
        onward = {symbol.pitches[place] for place in symbol.tied}
        for pitch in symbol.pitches:
            note = outer if outer.tag == "note" else SubElement(outer, "note", {XML_ID: f"w{next(self._ids)}"})
            self._pitch(note, pitch, pitch in before)
            if pitch in before or pitch in onward:
                note.set("tie", "m" if pitch in before and pitch in onward else "i" if pitch in onward else "t")
        if onward:
            self._tied[layer] = onward

    def _pitch(self, note: Element, pitch: Pitch, tied: bool) -> None:
        note.set("pname", pitch.step.lower())
        note.set("oct", str(pitch.octave))
        place = (pitch.step, pitch.octave)
        current = self._signs.get(place, alter_in_key(pitch.step, self._fifths))
        if current != pitch.alter and not tied:
            note.set("accid", _ACCIDENTALS[pitch.alter])
            self._signs[place] = pitch.alter
        else:
            note.set("accid.ges", _ACCIDENTALS[pitch.alter])


def _marks(symbol: Symbol, target: str, staff: int) -> Iterator[Element]:
    for name in symbol.ornaments:
        tag, form = _ORNAMENTS[name]
        mark = Element(tag, {"startid": f"#{target}", "staff": str(staff)})
        if form:
            mark.set("form", form)
        yield mark
    if symbol.fermata:
        yield Element("fermata", {"startid": f"#{target}", "staff": str(staff), "place": "above"})


def _beams(symbols: Sequence[Symbol], beat: Fraction) -> Iterator[list[Symbol]]:
    """Group what is beamed together: neighbours shorter than a quarter within one beat; a tuplet stays whole."""
    group: list[Symbol] = []
    at = Fraction(0)
    group_beat = -1
    for symbol in symbols:
        joins = bool(group) and (
            (symbol.tuplet is not None and not symbol.opens)
            or (
                _beamable(symbol)
                and _beamable(group[-1])
                and at // beat == group_beat
                and bool(symbol.grace) == bool(group[-1].grace)
            )
        )
        if group and not joins:
            yield group
            group = []
        if not group:
            group_beat = int(at // beat)
        group.append(symbol)
        at += symbol.length
    if group:
        yield group


def _beamable(symbol: Symbol) -> bool:
    return bool(symbol.pitches) and VALUES[symbol.written][0] < 1
