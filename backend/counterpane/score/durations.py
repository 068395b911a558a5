"""How long a written symbol lasts, in quarters, and which pitch it stands for."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from xml.etree.ElementTree import Element

from counterpane.model.piece import Pitch

_LONG = {"breve": Fraction(8), "long": Fraction(16), "maxima": Fraction(32)}
_ALTERS = {
    "n": 0,
    "s": 1,
    "f": -1,
    "ss": 2,
    "x": 2,
    "ff": -2,
    "ts": 3,
    "xs": 3,
    "sx": 3,
    "tf": -3,
    "ns": 1,
    "nf": -1,
}
SHARPS = "FCGDAEB"


def sounding_duration(element: Element, factor: Fraction, ppq: Fraction | None) -> Fraction | None:
    """Return the length in time (quarters): what type and dots say, times the tuplet's `factor`.

    A file may give the length in ticks too (`ppq` a quarter). Rounded ticks are expected; where the two
    really differ (a tuplet without its bracket) the ticks are what is meant. None when there is neither.
    """
    dots = max(integer(element.get("dots"), 0), len(element.findall("dot")))
    ticks = integer(element.get("dur.ppq"), 0, digits=9) if ppq else 0
    return _length(element.get("dur", ""), dots, factor, ticks, ppq or Fraction(1))


@lru_cache(maxsize=4096)
def _length(kind: str, dots: int, factor: Fraction, ticks: int, ppq: Fraction) -> Fraction | None:
    written = _written(kind, dots)
    if ticks > 0:
        played = ticks / ppq
        if written is None or abs(played - written * factor) > written * factor / 16:
            return played
    return None if written is None else written * factor


def _written(kind: str, dots: int) -> Fraction | None:
    """Return the length that type and dots say (quarters), before any tuplet; None when there is no type."""
    base = _LONG.get(kind)
    if base is None:
        if integer(kind, 0) <= 0:
            return None
        base = Fraction(4, integer(kind, 4))
    return base * (2 - Fraction(1, 2**dots)) if 0 <= dots <= 6 else None


def head_pitch(note: Element, implied_alter: Callable[[str, int], int]) -> Pitch | None:
    """Return a note's pitch, or None for a head without one (percussion).

    `implied_alter` answers for step and octave when the note itself does not say how it is altered.
    """
    step = note.get("pname", "").upper()
    octave = note.get("oct.ges", note.get("oct", ""))
    if len(step) != 1 or step not in "CDEFGAB" or not re.fullmatch(r"-1|[0-9]", octave):
        return None
    alter = stated_alter(note)
    if alter is None:
        alter = implied_alter(step, int(octave))
    return Pitch(step, alter, int(octave))


def stated_alter(note: Element) -> int | None:
    """Return the alteration that the note states by itself or by a sign in front of it, else None."""
    signs = [note.get("accid.ges"), note.get("accid")]
    for child in note.findall("accid"):
        signs = [child.get("accid.ges"), child.get("accid"), *signs]
    return next((_ALTERS[sign] for sign in signs if sign in _ALTERS), None)


def integer(text: str | None, default: int, digits: int = 6) -> int:
    """Read a whole number of at most so many digits, or return `default`."""
    if text is None or len(text) > digits + 1 or not text.removeprefix("-").isdecimal() or not text.isascii():
        return default
    return int(text)


def fifths_of(signature: str) -> int | None:
    """Return the sharps (+) or flats (-) of an MEI key signature such as "3s", "1f" or "0"."""
    if signature == "0":
        return 0
    if len(signature) == 2 and signature[0].isdigit() and signature[1] in "sf":
        return int(signature[0]) * (1 if signature[1] == "s" else -1)
    return None


def alter_in_key(step: str, fifths: int) -> int:
    """Return what a key signature does to a step: +1, 0 or -1."""
    place = SHARPS.index(step)
    if fifths > 0:
        return int(place < fifths)
    return -int(6 - place < -fifths)
