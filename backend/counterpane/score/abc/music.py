"""The music of one ABC voice, bar by bar: what music21 read, as symbols.

Source: The abc music standard 2.1 (December 2011), section 4.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from counterpane.errors import UnreadableScore
from counterpane.model.piece import Pitch
from counterpane.score import limits
from counterpane.score.abc.fields import Key, read_key
from counterpane.score.abc.words import Word
from counterpane.score.refusals import too_many_measures
from counterpane.score.sketch import Symbol

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


_FINEST = 65_535
"""The largest denominator of a length; music21 keeps lengths as floating point numbers where it can."""
_PITCH = re.compile(r"([A-G])(#*|-*|n)(\d+)")
_DEEPEST = 4
"""The most commas behind a letter in its plain spelling: octave 0, in which keyboards begin."""
_ALTERS = {"#": 1, "-": -1, "n": 0, "": 0}


@dataclass
class VoiceReader:
    """Turns the words of one voice into bars; `octave` is the voice's shift."""

    file: str
    meter: tuple[int, int]
    octave: int = 0
    bars: list[BarDraft] = field(default_factory=lambda: [BarDraft()])
    _signs: list[str] = field(default_factory=list)
    _tuplet: Any = None
    _endings: tuple[int, ...] = ()
    _coming: dict[str, object] = field(default_factory=dict)
    _overlaying: bool = False

    def read(self, words: Sequence[Word]) -> list[BarDraft]:
        """Return the bars, the empty ones too."""
        from music21 import abcFormat

        for word in words:
            for note, slashed in word.graces:
                self._append(Symbol(self._pitches([note]), _GRACE, grace="slashed" if slashed else "unslashed"))
            if isinstance(word.token, abcFormat.ABCNote):
                self._note(word)
            elif isinstance(word.token, abcFormat.ABCBar):
                self._bar(word.token)
            elif isinstance(word.token, abcFormat.ABCMetadata):
                self._field(word)
        return self.bars

    def _field(self, word: Word) -> None:
        match word.mark:
            case None:
                if word.token.isMeter():
                    beats, unit, _ = word.token.getTimeSignatureParameters()
                    self.meter = (beats, unit)
                    self._announce("meter", self.meter)
            case "key", value:
                self._announce("key", read_key(value))
            case "rests", count:
                self._rest_bars(int(count))
            case "ending", numbers:
                self._endings = tuple(int(number) for number in numbers.split())
                self.bars[-1].endings = self._endings
            case "overlay", _:
                self._overlaying = True

    def _announce(self, what: str, value: object) -> None:
        """Write a new key or meter at the bar that begins; one inside a bar is written at the next."""
        if self.bars[-1].empty:
            setattr(self.bars[-1], what, value)
        else:
            self._coming[what] = value

    def _note(self, word: Word) -> None:
        token = word.token
        pitches = self._pitches([] if token.isRest else [token, *word.chord])
        ordered = tuple(sorted(set(pitches), key=lambda pitch: (pitch.midi, pitch.diatonic)))
        tied = {pitches[place] for place in word.tied} if token.tie not in {"start", "continue"} else set(pitches)
        self._signs += [_SIGNS.get(sign, sign) for sign in word.signs]
        signs, self._signs = (self._signs, []) if pitches else ([], self._signs)
        tuplet, before, self._tuplet = token.activeTuplet, self._tuplet, token.activeTuplet
        symbol = Symbol(
            ordered,
            self._length(word),
            (tuplet.numberNotesActual, tuplet.numberNotesNormal) if tuplet else None,
            tuplet is not None and tuplet is not before,
            tuple(place for place, pitch in enumerate(ordered) if pitch in tied),
            ornaments=tuple(_ORNAMENTS[sign] for sign in signs if sign in _ORNAMENTS),
            articulations=tuple(_ARTICULATIONS[sign] for sign in signs if sign in _ARTICULATIONS),
            fermata=bool({"fermata", "invertedfermata"} & set(signs)),
        )
        self._append(symbol)

    def _length(self, word: Word) -> Fraction:
        times = word.token.getQuarterLength(word.times, forceDefaultQuarterLength=1.0) if word.times else 1
        length = (Fraction(word.token.quarterLength) * Fraction(times)).limit_denominator(_FINEST)
        if not 0 < length <= _LONGEST:
            raise UnreadableScore(
                f"bar {len(self.bars)} has a note of an impossible length; correct it in the ABC text.",
                file=self.file,
            )
        return length

    def _pitches(self, notes: Sequence[Any]) -> tuple[Pitch, ...]:
        return tuple(self._pitch(note) for note in notes if note.pitchName)

    def _pitch(self, note: Any) -> Pitch:
        # Below octave 0 music21's name is ambiguous (C-1 is C flat 1 too): the text decides.
        found = _PITCH.fullmatch(note.pitchName)
        octave = int(found[3]) + self.octave if found else -1
        if found is None or note.src.count(",") > _DEEPEST or not -1 <= octave <= 9:
            raise UnreadableScore(
                f"bar {len(self.bars)} has a note beyond every keyboard; correct it in the ABC text.",
                file=self.file,
            )
        return Pitch(found[1], len(found[2]) * _ALTERS[found[2][:1]], octave)

    def _rest_bars(self, count: int) -> None:
        for i in range(count):
            if i:
                self._next_bar()
            self._append(Symbol((), Fraction(4 * self.meter[0], self.meter[1])))

    def _append(self, symbol: Symbol) -> None:
        self.bars[-1].layers[-1].append(symbol)

    def _bar(self, token: Any) -> None:
        """Close a bar, or mark the one that begins, when a second barline stands beside the first."""
        if self._overlaying:
            self._overlaying = False
            self.bars[-1].layers.append([])
            return
        ends = token.repeatForm == "end"
        if not self.bars[-1].empty:
            self.bars[-1].repeat_end = ends
            self._next_bar()
        elif ends and len(self.bars) > 1:
            self.bars[-2].repeat_end = True
        if ends or token.barStyle == "light-light":
            self._endings = ()
        self.bars[-1].endings = self._endings
        self.bars[-1].repeat_start = self.bars[-1].repeat_start or token.repeatForm == "start"

    def _next_bar(self) -> None:
        if len(self.bars) >= limits.MEASURES:
            raise too_many_measures(self.file)
        self.bars.append(BarDraft(endings=self._endings))
        for what, value in self._coming.items():
            setattr(self.bars[-1], what, value)
        self._coming.clear()
