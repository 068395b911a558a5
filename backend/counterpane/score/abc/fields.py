"""ABC information fields: keys, meters, lengths, tempos, voices and how voices share staves.

Source: The abc music standard 2.1 (December 2011), sections 3, 4.6, 6.1.1, 7 and 11.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from counterpane.score.durations import SHARPS

_TONICS = {"C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F": -1}
_MODES = {
    "": 0,
    "maj": 0,
    "ion": 0,
    "m": -3,
    "min": -3,
    "aeo": -3,
    "mix": -1,
    "dor": -2,
    "phr": -4,
    "lyd": 1,
    "loc": -5,
}
_KEY = re.compile(r"([A-G])([#b]?)\s*([A-Za-z]*)")
_CLEFS = re.compile(r"\b(?:clef=)?(treble|bass|alto|tenor|perc|none)\b")
_ALTERS = {"^^": 2, "^": 1, "=": 0, "_": -1, "__": -2}


@dataclass(frozen=True)
class Key:
    """A key signature: sharps positive; `mode` where it is major or minor; `extra` alterations of single steps."""

    fifths: int = 0
    mode: Literal["major", "minor"] | None = None
    extra: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Voice:
    """One voice: name, clef ("G" or "F", None where not said), octaves by which it sounds higher."""

    name: str
    label: str = ""
    clef: Literal["G", "F"] | None = None
    percussion: bool = False
    octave: int = 0


def read_key(text: str) -> Key:
    """Read the value of a K: field; what cannot be understood counts as no sharps or flats."""
    found = _KEY.match(text.strip())
    if found is None or text.strip()[:4] in {"none", "clef"}:
        return Key()
    tonic, sign, mode_name = found.groups()
    word = mode_name.lower()[:3] if mode_name.lower() not in {"exp", "cle", "clef"} else ""
    if word not in _MODES:
        word = ""
    fifths = _TONICS[tonic] + {"#": 7, "b": -7, "": 0}[sign] + _MODES[word]
    modes: dict[str, Literal["major", "minor"]] = {
        "": "major",
        "maj": "major",
        "ion": "major",
        "m": "minor",
        "min": "minor",
        "aeo": "minor",
    }
    extra = {
        step.upper(): _ALTERS[sign_] for sign_, step in re.findall(r"(?<![\w=])(\^\^|__|\^|_|=)([A-Ga-g])\b", text)
    }
    if " exp" in text:
        return Key(0, None, extra)
    return Key(max(-7, min(7, fifths)), modes.get(word), extra)


def alter_of(key: Key, step: str) -> int:
    """Return the alteration that a key gives to a step."""
    if step in key.extra:
        return key.extra[step]
    place = SHARPS.index(step)
    if key.fifths >= 0:
        return int(place < key.fifths)
    return -int(6 - place < -key.fifths)


def read_meter(text: str) -> tuple[int, int] | None:
    """Read the value of an M: field; None for "none" and what is no meter."""
    words = text.strip()
    if words in {"C", "C|"}:
        return (4, 4) if words == "C" else (2, 2)
    found = re.match(r"\(?([\d+ ]+)\)?\s*/\s*(\d+)", words)
    if found is None:
        return None
    beats = sum(int(number) for number in re.findall(r"\d+", found[1]))
    unit = int(found[2])
    return (beats, unit) if 0 < beats < 100 and unit in {1, 2, 4, 8, 16, 32, 64} else None


def read_length(text: str) -> Fraction | None:
    """Read a note length such as "1/8" (of a whole note), in quarters."""
    found = re.match(r"\s*(\d{1,3})\s*(?:/\s*(\d{1,3}))?", text)
    if found is None or int(found[2] or 1) == 0 or int(found[1]) == 0:
        return None
    return Fraction(4 * int(found[1]), int(found[2] or 1))


def read_tempo(text: str, unit: Fraction) -> float | None:
    """Read the value of a Q: field in quarters a minute; `unit` is the unit note length in quarters."""
    words = re.sub(r'"[^"]*"', "", text).strip()
    found = re.match(r"((?:\d+/\d+\s*)+)=\s*(\d+(?:\.\d+)?)", words)
    if found:
        length = sum(
            (Fraction(4 * int(a), int(b)) for a, b in re.findall(r"(\d+)/(\d+)", found[1]) if int(b)), Fraction(0)
        )
        return float(length) * float(found[2])
    plain = re.fullmatch(r"(\d+)", words)
    return float(unit) * int(plain[1]) if plain else None


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
