"""What holds until it changes: meter, key signature, tempo, and the ticks in which lengths are given."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal
from xml.etree.ElementTree import Element

from counterpane.model.piece import KeySignature
from counterpane.score.durations import fifths_of, integer


class Signatures:
    """Takes up definitions as the walk meets them. Key changes of the piece are those of its top staff."""

    def __init__(self) -> None:
        self.meter = (4, 4)
        self.keys: list[KeySignature] = []
        self.tempo: float | None = None
        self.top_staff = 1
        self._fifths: dict[int, int] = {}
        self._ppq: dict[int, Fraction] = {}

    def fifths(self, staff: int) -> int:
        """Return the key signature of a staff (sharps positive)."""
        return self._fifths.get(staff, self._fifths.get(0, 0))

    def ppq(self, staff: int) -> Fraction | None:
        """Return the ticks a quarter in which the file gives this staff's lengths, if it does."""
        return self._ppq.get(staff, self._ppq.get(0))

    def define(self, definition: Element, now: Fraction) -> None:
        """Take up a `scoreDef` or `staffDef` that stands at `now` (quarters)."""
        for item in definition.iter():
            if item.tag in {"scoreDef", "staffDef"}:
                self._attributes(item, now)
                for signature in item.findall("keySig"):
                    self.set_key(_staff(item), signature.get("sig", ""), signature.get("mode"), now)
            elif item.tag == "meterSig":
                self.set_meter(item.get("count"), item.get("unit"), item.get("sym"))

    def _attributes(self, item: Element, now: Fraction) -> None:
        signature = item.get("keysig", item.get("key.sig"))
        if signature is not None:
            self.set_key(_staff(item), signature, item.get("key.mode"), now)
        self.set_meter(item.get("meter.count"), item.get("meter.unit"), item.get("meter.sym"))
        self.set_tempo(item.get("midi.bpm"))
        ticks = integer(item.get("ppq"), 0)
        if ticks > 0:
            self._ppq[_staff(item)] = Fraction(ticks)

    def set_meter(self, count: str | None, unit: str | None, sign: str | None) -> None:
        """Take up a time signature; "3+2" counts five beats."""
        if count is None and sign in {"common", "cut"}:
            count, unit = ("4", "4") if sign == "common" else ("2", "2")
        if count is None and unit is None:
            return
        beats = sum(int(part) for part in re.findall(r"\d{1,3}", count or ""))
        beat_unit = integer(unit, 0)
        self.meter = (beats or self.meter[0], beat_unit if 0 < beat_unit <= 128 else self.meter[1])

    def set_key(self, staff: int, signature: str, mode: str | None, now: Fraction) -> None:
        """Take up a key signature of one staff, or of all (staff 0)."""
        fifths = fifths_of(signature)
        if fifths is None:
            return
        if staff == 0:
            self._fifths.clear()
        self._fifths[staff] = fifths
        if staff in {0, self.top_staff}:
            self._note_key(KeySignature(now, fifths, _mode(mode)))

    def _note_key(self, key: KeySignature) -> None:
        if self.keys and self.keys[-1].onset == key.onset:
            before = self.keys.pop()
            if key.mode is None and before.fifths == key.fifths:
                key = before
        if not self.keys or (self.keys[-1].fifths, self.keys[-1].mode) != (key.fifths, key.mode):
            self.keys.append(key)

    def mark_tempo(self, tempo: Element) -> None:
        """Take up a `tempo` mark, given in quarters a minute or as a metronome mark."""
        self.set_tempo(tempo.get("midi.bpm") or _metronome(tempo))

    def set_tempo(self, quarters_a_minute: str | None) -> None:
        """Keep the first tempo that the file gives, if it is one that can be played."""
        try:
            value = float(quarters_a_minute or "")
        except ValueError:
            return
        if self.tempo is None and 1 <= value <= 1000:
            self.tempo = value


def _staff(item: Element) -> int:
    return integer(item.get("n"), 0) if item.tag == "staffDef" else 0


def _mode(name: str | None) -> Literal["major", "minor"] | None:
    if name == "major":
        return "major"
    return "minor" if name == "minor" else None


def _metronome(tempo: Element) -> str | None:
    try:
        value = float(tempo.get("mm", ""))
    except ValueError:
        return None
    unit, dots = integer(tempo.get("mm.unit"), 4), integer(tempo.get("mm.dots"), 0)
    if unit <= 0 or not 0 <= dots <= 4:
        return None
    return str(value * 4 / unit * (2 - 0.5**dots))
