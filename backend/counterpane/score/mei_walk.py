"""Walking normalised MEI measure by measure: where each notehead lies in time, exactly.

A measure lasts as long as the longest layer in it; where there is nothing to count (whole-measure rests), as long
as the meter says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal
from xml.etree.ElementTree import Element

from counterpane.errors import UnreadableScore, UnsuitableScore
from counterpane.model.piece import KeySignature
from counterpane.score import limits
from counterpane.score.durations import alter_in_key, fifths_of, head_pitch, sounding_duration, stated_alter
from counterpane.score.heads import Head, Layer, Staff
from counterpane.score.xml_door import XML_ID

_RESTS = {"rest", "space", "note", "chord"}
_WHOLE = {"mRest", "mSpace"}
_REPEAT_SIGNS = {"mRpt", "mRpt2", "multiRpt", "beatRpt", "halfmRpt"}
_NOTE_ARTICULATIONS = {
    "stacc": "staccato", "acc": "accent", "ten": "tenuto", "stacciss": "staccatissimo", "marc": "strong-accent",
    "spicc": "spiccato",
}  # fmt: skip


@dataclass
class MeasureDraft:
    """One measure as walked: `length` is its content, None when nothing in it can be counted."""

    element: Element
    onset: Fraction
    beats: int
    beat_unit: int
    endings: tuple[int, ...]
    length: Fraction | None = None
    rest_measures: int = 1

    @property
    def nominal(self) -> Fraction:
        """What the meter says, in quarters."""
        return Fraction(4 * self.beats, self.beat_unit)


@dataclass
class Walk:
    """The state of the walk, and what it has found."""

    name: str
    staves: list[Staff] = field(default_factory=list)
    measures: list[MeasureDraft] = field(default_factory=list)
    keys: list[KeySignature] = field(default_factory=list)
    heads: list[Head] = field(default_factory=list)
    unpitched: int = 0
    tempo: float | None = None
    _meter: tuple[int, int] = (4, 4)
    _fifths: dict[int, int] = field(default_factory=dict)
    _ppq: dict[int, Fraction] = field(default_factory=dict)
    _accidentals_given: bool = True
    _in_measure: dict[tuple[int, str, int], int] = field(default_factory=dict)
    _now: Fraction = Fraction(0)

    def score(self, score: Element) -> None:
        """Walk a whole `score` element."""
        self._accidentals_given = any(
            element.get("accid.ges") is not None for element in score.iter() if element.tag in {"note", "accid"}
        )
        for child in score:
            if child.tag == "scoreDef":
                self._read_definition(child)
                self._read_staves(child)
            else:
                self._section(child, ())

    def _section(self, element: Element, endings: tuple[int, ...]) -> None:
        if element.tag in {"scoreDef", "staffDef"}:
            self._read_definition(element)
        elif element.tag == "measure":
            self._measure(element, endings)
        elif element.tag in {"section", "ending"}:
            if element.tag == "ending":
                endings = tuple(int(number) for number in re.findall(r"\d{1,3}", element.get("n", "")))
            for child in element:
                self._section(child, endings)

    def _read_staves(self, definition: Element) -> None:
        if not self.staves:
            self._staff_group(definition, "", "", None)

    def _staff_group(self, element: Element, part: str, label: str, program: int | None) -> None:
        """A group with a brace or a name is one part; a staff outside of such a group is a part of its own."""
        own_label = " ".join("".join(element.findtext("label") or "").split())
        instrument = element.find("instrDef")
        number = instrument.get("midi.instrnum", "") if instrument is not None else ""
        program = int(number) if number.isdigit() else program
        if element.tag == "staffDef":
            n = _integer(element.get("n"), len(self.staves) + 1)
            clef = element.find("clef")
            shape = clef.get("shape") if clef is not None else element.get("clef.shape")
            self.staves.append(Staff(n, part or f"staff {n}", own_label or label, program, shape == "perc"))
            return
        symbol = element.find("grpSym")
        braced = (element.get("symbol") or (symbol.get("symbol") if symbol is not None else "")) == "brace"
        staves = element.findall("staffDef")
        if element.tag == "staffGrp" and len(staves) > 1 and (braced or own_label):
            part = part or f"group {len(self.staves)}"
        for child in element:
            if child.tag in {"staffGrp", "staffDef"}:
                self._staff_group(child, part, own_label or label, program)

    def _read_definition(self, element: Element) -> None:
        for item in element.iter():
            if item.tag in {"scoreDef", "staffDef"}:
                self._definition_attributes(item)
            elif item.tag == "meterSig":
                self._set_meter(item.get("count"), item.get("unit"), item.get("sym"))
        for staff in [element, *element.iter("staffDef")]:
            n = _integer(staff.get("n"), 0) if staff.tag == "staffDef" else 0
            signature = staff.find("keySig")
            if signature is not None:
                self._set_key(n, signature.get("sig", ""), signature.get("mode"))
        if element.get("midi.bpm"):
            self._set_tempo(element.get("midi.bpm"))

    def _definition_attributes(self, item: Element) -> None:
        n = _integer(item.get("n"), 0) if item.tag == "staffDef" else 0
        signature = item.get("keysig", item.get("key.sig"))
        if signature is not None:
            self._set_key(n, signature, item.get("key.mode"))
        self._set_meter(item.get("meter.count"), item.get("meter.unit"), item.get("meter.sym"))
        ppq = item.get("ppq", "")
        if ppq.isdigit() and int(ppq):
            self._ppq[n] = Fraction(int(ppq))

    def _set_meter(self, count: str | None, unit: str | None, sign: str | None) -> None:
        if count is None and sign in {"common", "cut"}:
            count, unit = ("4", "4") if sign == "common" else ("2", "2")
        if count is None and unit is None:
            return
        beats = sum(int(part) for part in re.findall(r"\d{1,4}", count or "")) or self._meter[0]
        beat_unit = int(unit) if unit and re.fullmatch(r"\d{1,4}", unit) and int(unit) else self._meter[1]
        self._meter = (beats, beat_unit)

    def _set_key(self, staff: int, signature: str, mode: str | None) -> None:
        fifths = fifths_of(signature)
        if fifths is None:
            return
        if staff == 0:
            self._fifths.clear()
        self._fifths[staff] = fifths
        first = self.staves[0].number if self.staves else 1
        if staff in {0, first}:
            named: Literal["major", "minor"] | None = (
                "major" if mode == "major" else "minor" if mode == "minor" else None
            )
            if self.keys and self.keys[-1].onset == self._now:
                named = named or (self.keys[-1].mode if self.keys[-1].fifths == fifths else None)
                self.keys.pop()
            if not self.keys or (self.keys[-1].fifths, self.keys[-1].mode) != (fifths, named):
                self.keys.append(KeySignature(self._now, fifths, named))

    def _set_tempo(self, quarters_a_minute: str | None) -> None:
        try:
            value = float(quarters_a_minute or "")
        except ValueError:
            return
        if self.tempo is None and 1 <= value <= 1000:
            self.tempo = value

    def _measure(self, element: Element, endings: tuple[int, ...]) -> None:
        draft = MeasureDraft(element, self._now, *self._meter, endings)
        self.measures.append(draft)
        self._in_measure.clear()
        lengths = [
            self._layer(draft, staff, layer)
            for staff in element.findall("staff")
            for layer in staff.findall("layer")
        ]
        counted = [length for length in lengths if length is not None]
        draft.beats, draft.beat_unit = self._meter
        draft.length = max(counted) if counted and max(counted) > 0 else None
        if draft.rest_measures > 1 and draft.length is None:
            draft.length = draft.nominal * draft.rest_measures
        for tempo in element.findall("tempo"):
            self._set_tempo(tempo.get("midi.bpm") or _quarters(tempo))
        self._now += draft.nominal if draft.length is None else draft.length
        if len(self.heads) > limits.NOTES:
            raise UnsuitableScore(
                f"the piece has more than {limits.NOTES} notes; bring in one movement at a time.", file=self.name
            )

    def _layer(self, draft: MeasureDraft, staff: Element, layer: Element) -> Fraction | None:
        """Walk one layer; return the length of what can be counted in it, or None."""
        n = _integer(staff.get("n"), 1)
        voice = (n, _integer(layer.get("n"), 1))
        walk = _LayerWalk(self, draft, voice, layer.get("visible") != "false")
        walk.run(layer, Fraction(1))
        return walk.at - draft.onset if walk.counted else None

    def implied_alter(self, staff: int, step: str, octave: int) -> int:
        """Return the alteration of a note that states none: by the measure so far, else by the key."""
        if self._accidentals_given:
            return 0
        fifths = self._fifths.get(staff, self._fifths.get(0, 0))
        return self._in_measure.get((staff, step, octave), alter_in_key(step, fifths))

    def remember(self, staff: int, note: Element, step: str, octave: int) -> None:
        """Keep an accidental for the rest of the measure."""
        alter = stated_alter(note)
        if alter is not None and not self._accidentals_given:
            self._in_measure[staff, step, octave] = alter

    def ppq(self, staff: int) -> Fraction | None:
        """Ticks a quarter in which the file gives this staff's lengths, if it does."""
        return self._ppq.get(staff, self._ppq.get(0))


class _LayerWalk:
    """One layer of one measure."""

    def __init__(self, walk: Walk, draft: MeasureDraft, layer: Layer, visible: bool) -> None:
        self._walk = walk
        self._draft = draft
        self._layer = layer
        self._visible = visible
        self.at = draft.onset
        self.counted = False

    def run(self, element: Element, factor: Fraction) -> None:
        """Walk the children of a layer, beam, tuplet or tremolo; `factor` is what tuplets do to lengths."""
        for child in element:
            if child.tag in _RESTS:
                self._event(child, factor)
            elif child.tag in _WHOLE:
                continue
            elif child.tag == "multiRest":
                self._draft.rest_measures = max(1, min(999, _integer(child.get("num"), 1)))
            elif child.tag in _REPEAT_SIGNS:
                raise UnsuitableScore(
                    "the score uses a sign for repeating a beat or measure; write the notes out.",
                    file=self._walk.name,
                    measure=_integer(self._draft.element.get("n"), len(self._walk.measures)),
                )
            elif child.tag in {"keySig", "meterSig"}:
                self._change(child)
            else:
                self.run(child, factor * _factor(child))

    def _change(self, child: Element) -> None:
        if child.tag == "meterSig":
            self._walk._set_meter(child.get("count"), child.get("unit"), child.get("sym"))
        else:
            self._walk._set_key(self._layer[0], child.get("sig", ""), child.get("mode"))

    def _event(self, element: Element, factor: Fraction) -> None:
        grace = _grace(element)
        length = Fraction(0)
        if grace is None and element.get("cue") != "true":
            found = sounding_duration(element, factor, self._walk.ppq(self._layer[0]))
            if found is None and element.tag == "chord":
                inner = element.find("note")
                found = sounding_duration(inner, factor, None) if inner is not None else None
            if found is None:
                self._refuse_length()
            else:
                length = found
        if element.tag in {"note", "chord"} and self._visible and element.get("visible") != "false":
            self._notes(element, grace, length)
        if grace is None:
            self.at += length
            self.counted = True

    def _refuse_length(self) -> None:
        raise UnreadableScore(
            "a note or rest has no length that can be read; export the score again.",
            file=self._walk.name,
            measure=_integer(self._draft.element.get("n"), len(self._walk.measures)),
        )

    def _notes(self, element: Element, grace: str | None, length: Fraction) -> None:
        notes = [element] if element.tag == "note" else element.findall("note")
        for note in notes:
            if note.get("visible") == "false" or "true" in {note.get("cue"), element.get("cue")}:
                continue
            staff = _integer(note.get("staff", element.get("staff")), self._layer[0])
            pitch = head_pitch(
                note, lambda step, octave, staff=staff: self._walk.implied_alter(staff, step, octave)
            )
            if pitch is None:
                self._walk.unpitched += 1
                continue
            self._walk.remember(staff, note, pitch.step, pitch.octave)
            articulations = tuple(
                dict.fromkeys(_articulations(note) + (_articulations(element) if note is not element else []))
            )
            self._walk.heads.append(
                Head(
                    note.attrib[XML_ID],
                    element.attrib[XML_ID],
                    staff,
                    self._layer,
                    len(self._walk.measures) - 1,
                    self.at,
                    length,
                    pitch,
                    grace,
                    articulations,
                )  # fmt: skip
            )


def _articulations(element: Element) -> list[str]:
    signs = element.get("artic", "").split()
    for child in element.findall("artic"):
        signs += child.get("artic", "").split()
    return [_NOTE_ARTICULATIONS[sign] for sign in signs if sign in _NOTE_ARTICULATIONS]


def _grace(element: Element) -> str | None:
    kinds = [element.get("grace"), *(note.get("grace") for note in element.findall("note"))]
    kind = next((kind for kind in kinds if kind), None)
    if kind is None:
        return None
    slashes = [element.get("stem.mod"), *(note.get("stem.mod") for note in element.findall("note"))]
    return "slashed" if kind == "unacc" or "1slash" in slashes else "unslashed"


def _factor(element: Element) -> Fraction:
    if element.tag == "fTrem":
        return Fraction(1, 2)
    if element.tag != "tuplet":
        return Fraction(1)
    number, base = _integer(element.get("num"), 3), _integer(element.get("numbase"), 2)
    return Fraction(base, number) if number > 0 and base > 0 else Fraction(1)


def _quarters(tempo: Element) -> str | None:
    try:
        value = float(tempo.get("mm", ""))
    except ValueError:
        return None
    unit = _integer(tempo.get("mm.unit"), 4)
    dots = _integer(tempo.get("mm.dots"), 0)
    if unit <= 0 or not 0 <= dots <= 4:
        return None
    return str(value * 4 / unit * (2 - 0.5**dots))


def _integer(text: str | None, default: int) -> int:
    return int(text) if text is not None and re.fullmatch(r"-?\d{1,6}", text) else default
