"""ABC information fields: keys, meters, lengths and tempos through music21; voices and how they share staves.

Source: The abc music standard 2.1 (December 2011), sections 3, 4.6, 6.1.1, 7 and 11. Voices and staves are read
here because music21 keeps what V: and %%score say as text.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Any, Literal, TypeVar

_CLEFS = re.compile(r"\b(?:clef=)?(treble|bass|alto|tenor|perc|none)\b")
_NOT_OF_THE_KEY = re.compile(r'\w+="[^"]*"|\w+=[^\s=]+|\b(?:treble|bass|alto|tenor|perc|none)\b[+\-\d]*|\bexp\b.*')
_SIGN = re.compile(r"(?<!\S)(\^\^|__|\^|_|=)([A-Ga-g])(?!\S)")
_LOCRIAN = re.compile(r"([A-G][#b]?)\s*loc", re.IGNORECASE)
_MODES: dict[str | None, Literal["major", "minor"]] = {
    "major": "major",
    "ionian": "major",
    "minor": "minor",
    "aeolian": "minor",
}
T = TypeVar("T")


@dataclass(frozen=True)
class Key:
    """A key signature: sharps positive; `mode` where it is major or minor; `extra` ABC's signs of single steps."""

    fifths: int = 0
    mode: Literal["major", "minor"] | None = None
    extra: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Voice:
    """One voice: name, clef ("G" or "F", None where not said), octaves by which it sounds higher."""

    name: str
    label: str = ""
    clef: Literal["G", "F"] | None = None
    percussion: bool = False
    octave: int = 0


@lru_cache(maxsize=64)
def read_key(text: str) -> Key:
    """Read the value of a K: field; what cannot be understood counts as no sharps or flats.

    Clefs are taken out first, which music21 mistakes for modes.
    Locrian and signs of single steps it does not know.
    """
    from music21 import key

    extra = {step.upper(): sign for sign, step in _SIGN.findall(text)}
    words = _NOT_OF_THE_KEY.sub("", _SIGN.sub("", text)).strip()
    if not re.match("[A-Ga-gH]", words) or re.search(r"\bexp\b", text):
        return Key(extra=extra)
    locrian = _LOCRIAN.match(words)
    if locrian:
        return Key(_in_range(key.pitchToSharps(locrian[1].replace("b", "-"), "locrian")), None, extra)
    fifths, mode = _field("K", words, lambda token: token.getKeySignatureParameters()) or (0, None)
    return Key(_in_range(fifths), _MODES.get(mode), extra)


@lru_cache(maxsize=64)
def write_key(fifths: int) -> str:
    """Return the K: value of the major key with these sharps, which music21 reads without fail."""
    from music21 import key

    tonic: str = key.sharpsToPitch(fifths).name
    return tonic.replace("-", "b")


def read_meter(text: str) -> tuple[int, int] | None:
    """Read the value of an M: field; None for "none" and what is no meter. Sums such as (2+3)/8 are added up."""
    words = re.sub(r"\(?(\d+(?:\s*\+\s*\d+)+)\)?", lambda found: str(sum(map(int, found[1].split("+")))), text)
    meter = _field("M", words.strip(), lambda token: token.getTimeSignatureParameters())
    if meter is None:
        return None
    beats, unit, _ = meter
    return (beats, unit) if 0 < beats < 100 and unit in {1, 2, 4, 8, 16, 32, 64} else None


def read_length(text: str) -> Fraction | None:
    """Read a note length such as "1/8" (of a whole note), in quarters."""
    words = text if "/" in text else f"{text}/1"
    quarters = _field("L", words, lambda token: token.getDefaultQuarterLength())
    return Fraction(quarters).limit_denominator(1024) if quarters and 0 < quarters <= 4000 else None


def default_length(meter: tuple[int, int]) -> Fraction:
    """Return the unit note length that a meter gives where L: is missing, in quarters (3.1.7)."""
    return Fraction(_field("M", f"{meter[0]}/{meter[1]}", lambda token: token.getDefaultQuarterLength()) or 0.5)


def read_tempo(text: str, unit: Fraction) -> float | None:
    """Read the value of a Q: field in quarters a minute; `unit` is the unit note length in quarters.

    A number alone counts unit note lengths (section 10.1), where music21 takes quarters; words alone are no tempo,
    where music21 makes one up.
    """
    words = re.sub(r"\s*=\s*", "=", re.sub(r'"[^"]*"', "", text).strip())
    if words.isdigit():
        words = f"{unit.numerator}/{4 * unit.denominator}={words}"
    if "=" not in words or "/" not in words.partition("=")[0]:
        return None
    tempo = _field("Q", words, lambda token: token.getMetronomeMarkObject().getQuarterBPM())
    return round(float(tempo), 6) if tempo else None


def _field(letter: str, value: str, read: Callable[[Any], T]) -> T | None:
    """Let music21 read a field; None when it cannot."""
    from music21 import abcFormat
    from music21.exceptions21 import Music21Exception

    token = abcFormat.ABCMetadata(f"{letter}:{value}")
    token.preParse()
    try:
        return read(token)
    except (Music21Exception, ArithmeticError, IndexError, TypeError, ValueError):
        return None


def _in_range(fifths: int) -> int:
    return max(-7, min(7, fifths))


def read_voice(text: str, before: Voice | None = None) -> Voice:
    """Read the value of a V: field; properties that it does not name stay as they were."""
    name = text.split()[0] if text.split() else "1"
    rest = text.strip()[len(name) :]
    old = before or Voice(name)
    labels = re.search(r'\bname="([^"]*)"', rest) or re.search(r'\bnm="([^"]*)"', rest)
    clef = _CLEFS.search(rest)
    octave = re.search(r"\boctave=([+-]?\d)", rest)
    return Voice(
        name=name,
        label=labels[1] if labels else old.label,
        clef=("F" if clef[1] == "bass" else "G") if clef else old.clef,
        percussion=clef[1] == "perc" if clef else old.percussion,
        octave=int(octave[1]) if octave else old.octave,
    )


def read_grouping(text: str) -> list[list[str]]:
    """Read %%score or %%staves: the voices of each staff, from the top; voices in ( ) share one."""
    staves: list[list[str]] = []
    inside = False
    for word in re.findall(r"[()\[\]{}|]|[^\s()\[\]{}|]+", text):
        if word == "(":
            staves.append([])
            inside = True
        elif word == ")":
            inside = False
        elif word not in "[]{}|":
            if inside:
                staves[-1].append(word)
            else:
                staves.append([word])
    return [staff for staff in staves if staff]
