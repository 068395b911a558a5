"""The music code of one ABC voice: notes, chords, rests, tuplets, ties, decorations and barlines.

Source: The abc music standard 2.1 (December 2011), section 4. Accidentals hold to the end of the bar, in all
octaves of the note unless "I:propagate-accidentals" says otherwise (section 11.3).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction

from counterpane.errors import UnreadableScore
from counterpane.model.piece import Pitch
from counterpane.score import limits
from counterpane.score.abc.fields import Key, alter_of, read_key, read_length, read_meter
from counterpane.score.abc.tokens import length_factor, notes_in, tokens
from counterpane.score.refusals import too_many_measures
from counterpane.score.sketch import Symbol

_ALTERS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}
_SIGNS = {"~": "roll", "H": "fermata", "L": "accent", "M": "lowermordent", "P": "uppermordent", "T": "trill",
          ".": "staccato"}  # fmt: skip
_ORNAMENTS = {
    "trill": "trill", "lowermordent": "mordent", "mordent": "mordent", "uppermordent": "inverted-mordent",
    "pralltriller": "inverted-mordent", "turn": "turn", "roll": "turn", "invertedturn": "inverted-turn",
}  # fmt: skip
_ARTICULATIONS = {
    "accent": "accent",
    ">": "accent",
    "emphasis": "accent",
    "tenuto": "tenuto",
    "staccato": "staccato",
}
_IN_THE_TIME_OF = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""How many plain notes a tuplet lasts (section 4.13); five, seven and nine follow the meter."""
_GRACE = Fraction(1, 2)
_LONGEST = Fraction(64)
"""The longest note or rest that is read, in quarters; the longest note value lasts 32."""


@dataclass
class BarDraft:
    """One bar of one voice; more than one layer with overlays. Lengths in it are as written, not yet cut."""

    layers: list[list[Symbol]] = field(default_factory=lambda: [[]])
    repeat_start: bool = False
    repeat_end: bool = False
    endings: tuple[int, ...] = ()
    meter: tuple[int, int] | None = None
    key: Key | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing was written in it."""
        return not any(self.layers)


@dataclass
class VoiceReader:
    """Reads one voice, line after line; `unit` is the unit note length in quarters, `octave` the voice's shift."""

    file: str
    unit: Fraction
    meter: tuple[int, int]
    key: Key
    propagate: str = "pitch"
    octave: int = 0
    bars: list[BarDraft] = field(default_factory=lambda: [BarDraft()])
    _signs: dict[tuple[str, int], int] = field(default_factory=dict)
    _decorations: list[str] = field(default_factory=list)
    _tuplet: tuple[int, int] = (3, 2)
    _tuplet_left: int = 0
    _tuplet_opens: bool = False
    _broken: Fraction = Fraction(1)
    _endings: tuple[int, ...] = ()
    _coming: dict[str, object] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._readers: dict[str, Callable[[str], None]] = {
            "decoration": self._decoration, "field": self._field, "bar": self._bar, "chord": self._chord,
            "grace": self._grace, "tuplet": self._begin_tuplet, "note": self._note, "rest": self._rest,
            "bars": self._rest_bars, "broken": self._break_rhythm, "tie": self._tie, "overlay": self._overlay,
            "sign": self._sign,
        }  # fmt: skip

    def line(self, text: str) -> None:
        """Read one line of music code."""
        for kind, word in tokens(text):
            if kind in self._readers:
                self._readers[kind](word)

    def set_field(self, letter: str, value: str) -> None:
        """Take up a K:, M: or L: field inside the tune."""
        if letter == "K":
            self.key = read_key(value)
            self._announce("key", self.key)
        elif letter == "M":
            meter = read_meter(value)
            if meter:
                self.meter = meter
                self._announce("meter", meter)
        elif letter == "L":
            self.unit = read_length(value) or self.unit

    def _announce(self, what: str, value: object) -> None:
        """Write a new key or meter at the bar that begins; one inside a bar is written at the next."""
        if self.bars[-1].empty:
            setattr(self.bars[-1], what, value)
        else:
            self._coming[what] = value

    def _field(self, word: str) -> None:
        self.set_field(word[1], word[3:-1])

    def _decoration(self, word: str) -> None:
        self._decorations.append(word[1:-1])

    def _sign(self, word: str) -> None:
        if word in _SIGNS:
            self._decorations.append(_SIGNS[word])

    def _begin_tuplet(self, word: str) -> None:
        parts = word[1:].split(":")
        p = int(parts[0])
        compound = self.meter[0] % 3 == 0 and self.meter[0] > 3
        q = int(parts[1]) if len(parts) > 1 and parts[1] else _IN_THE_TIME_OF.get(p, 3 if compound else 2)
        r = int(parts[2]) if len(parts) > 2 and parts[2] else p
        self._tuplet, self._tuplet_left, self._tuplet_opens = (p, q), r, True

    def _note(self, word: str) -> None:
        for accidental, letter, marks, length, _ in notes_in(word):
            self._add((self._pitch(accidental, letter, marks),), self._factor(length))

    def _chord(self, word: str) -> None:
        inside, _, outer = word[1:].rpartition("]")
        members = [
            (self._pitch(a, letter, marks), length, tie) for a, letter, marks, length, tie in notes_in(inside)
        ]
        if not members:
            return
        pitches = {pitch: tie for pitch, _, tie in members}
        ordered = tuple(sorted(pitches, key=lambda pitch: (pitch.midi, pitch.diatonic)))
        tied = tuple(i for i, pitch in enumerate(ordered) if pitches[pitch])
        self._add(ordered, self._factor(members[0][1]) * self._factor(outer), tied)

    def _rest(self, word: str) -> None:
        self._add((), self._factor(word[1:]))

    def _rest_bars(self, word: str) -> None:
        for i in range(int(word[1:] or 1)):
            if i:
                self._bar("|")
            self._append(Symbol((), Fraction(4 * self.meter[0], self.meter[1])))

    def _grace(self, word: str) -> None:
        kind = "slashed" if word.startswith("{/") else "unslashed"
        for accidental, letter, marks, _, _ in notes_in(word):
            self._append(Symbol((self._pitch(accidental, letter, marks),), _GRACE, grace=kind))

    def _break_rhythm(self, word: str) -> None:
        last = self._last_measured()
        if last is None:
            return
        layer = self.bars[-1].layers[-1]
        short = Fraction(1, 2 ** min(len(word), 4))
        here, self._broken = (2 - short, short) if word[0] == ">" else (short, 2 - short)
        layer[last] = replace(layer[last], written=layer[last].written * here)

    def _tie(self, _: str) -> None:
        last = self._last_measured()
        if last is not None:
            layer = self.bars[-1].layers[-1]
            layer[last] = replace(layer[last], tied=tuple(range(len(layer[last].pitches))))

    def _overlay(self, _: str) -> None:
        self.bars[-1].layers.append([])
        self._signs.clear()

    def _last_measured(self) -> int | None:
        layer = self.bars[-1].layers[-1]
        return next((i for i in range(len(layer) - 1, -1, -1) if not layer[i].grace), None)

    def _add(self, pitches: tuple[Pitch, ...], factor: Fraction, tied: tuple[int, ...] = ()) -> None:
        written = self.unit * factor * self._broken
        self._broken = Fraction(1)
        tuplet, opens = None, False
        if self._tuplet_left:
            tuplet, opens = self._tuplet, self._tuplet_opens
            self._tuplet_left -= 1
            self._tuplet_opens = False
        marks, self._decorations = (self._decorations, []) if pitches else ([], self._decorations)
        symbol = Symbol(
            pitches,
            written,
            tuplet,
            opens,
            tied,
            ornaments=tuple(_ORNAMENTS[mark] for mark in marks if mark in _ORNAMENTS),
            articulations=tuple(_ARTICULATIONS[mark] for mark in marks if mark in _ARTICULATIONS),
            fermata=bool({"fermata", "invertedfermata"} & set(marks)),
        )
        self._append(symbol)

    def _append(self, symbol: Symbol) -> None:
        self.bars[-1].layers[-1].append(symbol)

    def _factor(self, length: str) -> Fraction:
        factor = length_factor(length)
        if factor is None or self.unit * factor > _LONGEST:
            raise UnreadableScore(
                f'"{length}" in bar {len(self.bars)} is not the length of a note; correct it in the ABC text.',
                file=self.file,
            )
        return factor

    def _pitch(self, accidental: str, letter: str, marks: str) -> Pitch:
        step = letter.upper()
        octave = (5 if letter.islower() else 4) + marks.count("'") - marks.count(",") + self.octave
        if not -1 <= octave <= 9:
            note = f"{letter}{marks[:12]}"
            raise UnreadableScore(
                f'"{note}" in bar {len(self.bars)} lies beyond every keyboard; correct it in the ABC text.',
                file=self.file,
            )
        place = (step, octave if self.propagate == "octave" else 0)
        if accidental and self.propagate != "not":
            self._signs[place] = _ALTERS[accidental]
        if accidental:
            return Pitch(step, _ALTERS[accidental], octave)
        return Pitch(step, self._signs.get(place, alter_of(self.key, step)), octave)

    def _bar(self, word: str) -> None:
        """Close a bar, or mark the one that begins, when a second barline stands beside the first."""
        line = re.sub(r"\[?\d.*", "", word)
        numbers = tuple(int(number) for number in re.findall(r"\d+", word))
        ends = line.startswith(":")
        starts = line.endswith(":")
        if not self.bars[-1].empty:
            self.bars[-1].repeat_end = ends
            self._next_bar()
        elif ends and len(self.bars) > 1:
            self.bars[-2].repeat_end = True
        if ends or "||" in line or "]" in line or line.startswith("[|"):
            self._endings = ()
        self._endings = numbers or self._endings
        self.bars[-1].endings = self._endings
        self.bars[-1].repeat_start = self.bars[-1].repeat_start or starts

    def _next_bar(self) -> None:
        if len(self.bars) >= limits.MEASURES:
            raise too_many_measures(self.file)
        self._signs.clear()
        self.bars.append(BarDraft())
        for what, value in self._coming.items():
            setattr(self.bars[-1], what, value)
        self._coming.clear()
