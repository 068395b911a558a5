"""ABC music code as music21's tokenizer reads it right.

music21 takes inline fields for chords, carries no accidental into or out of a chord, leaves out decorations, rests
of whole bars and invisible ones, knows first and second endings only, sees one sign of a double accidental where
it carries on, and takes a repeat that follows a note for a field. So fields get lines of their own, chords
become their notes, and what has no token becomes a line "N:" (the field for notes on the tune) that
`words.py` takes out again. What the standard does not define is passed over, as it asks.

Source: The abc music standard 2.1 (December 2011), section 4.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from counterpane.score.abc.fields import Key, read_key, read_length, read_meter, write_key

_LENGTH = r"\d{0,3}/{0,9}\d{0,3}"
_NOTE = rf"(?:\^\^|\^|__|_|=)?[A-Ga-g][,']{{0,9}}{_LENGTH}"
# What stands in brackets is bounded: a bracket left open shall not be searched for again and again.
_WORD = re.compile(
    rf"""(?P<text>"[^"]{{0,500}}")
    |(?P<decoration>![^!\s]{{1,40}}!|\+[^+\s]{{1,40}}\+)
    |(?P<field>\[[A-Za-z]:[^\]]{{0,200}}\])
    |(?P<bar>(?:\[\|\]?|:*\|+[\]:|]*|::+)(?:\s*\[?(?=\d)\d[\d,\-]{{0,20}})?|\[\d[\d,\-]{{0,20}})
    |(?P<chord>\[[^\]|:]{{0,200}}\]{_LENGTH})
    |(?P<grace>\{{[^}}]{{0,200}}\}})
    |(?P<tuplet>\([2-9](?::[1-9]?(?::\d?)?)?)
    |(?P<note>{_NOTE})
    |(?P<rest>[zx]{_LENGTH})
    |(?P<bars>[ZX]\d{{0,3}})
    |(?P<broken><+|>+)
    |(?P<tie>-)
    |(?P<overlay>&)
    |(?P<sign>[.~HLMPT])
    """,
    re.VERBOSE,
)


def plain(music: str) -> str:
    """Rewrite a stretch of one voice's music code."""
    return " ".join(_WRITERS[match.lastgroup or ""](match[0]) for match in _WORD.finditer(music))


def plain_head(meter: tuple[int, int], unit: Fraction, key: Key) -> str:
    """Return the M:, L: and K: fields that a voice begins with; `unit` is its unit note length in quarters."""
    return f"M:{meter[0]}/{meter[1]}\nL:{unit.numerator}/{4 * unit.denominator}\nK:{write_key(key.fifths)}\n"


def plain_field(letter: str, value: str) -> str:
    """Return a K:, M: or L: field on a line of its own; nothing for other fields and what cannot be understood."""
    if letter == "K":
        return f"{_mark(f'key {value}')}K:{write_key(read_key(value).fifths)}\n"
    if letter == "M" and (meter := read_meter(value)):
        return f"\nM:{meter[0]}/{meter[1]}\n"
    if letter == "L" and (length := read_length(value)):
        return f"\nL:{length.numerator}/{4 * length.denominator}\n"
    return ""


def _mark(words: str) -> str:
    return f"\nN:{words}\n"


def _note(word: str) -> str:
    """Write a note or rest with one spelling for each octave, and its accidental and length as music21 takes them.

    Accidentals are carried from spelling to spelling, so that "f," has to be "F"; of a double one music21 sees
    both signs where another stands between them.
    """
    accidental, letter, marks, length = re.fullmatch(r"([\^_=]*)([A-Ga-gz])([,']*)(.*)", word).groups()  # type: ignore[union-attr] # the token's form
    octave = letter.islower() + marks.count("'") - marks.count(",")
    if letter == "z":
        spelled = letter
    elif octave > 0:
        spelled = letter.lower() + "'" * (octave - 1)
    else:
        spelled = letter.upper() + "," * -octave
    return "~".join(accidental) + spelled + _length(length)


def _length(text: str) -> str:
    """Write "//" as "/4", and a division by 0 as the length 0, which is refused with its bar."""
    number, slashes, divisor = re.fullmatch(r"(\d*)(/*)(\d*)", text).groups()  # type: ignore[union-attr] # the token's form
    if not slashes:
        return str(number)
    divisor = divisor or str(2 ** len(slashes))
    return f"{number}/{divisor}" if int(divisor) else "0"


def _notes(text: str) -> str:
    return " ".join(_note(note) + tie for note, tie in re.findall(rf"({_NOTE})(-?)", text))


def _chord(word: str) -> str:
    inside, _, outer = word[1:].rpartition("]")
    notes = _notes(inside)
    return f"{_mark('chord')}{notes}{_mark(f'end {_length(outer)}')}" if notes else ""


def _grace(word: str) -> str:
    return f"{_mark('slashed') if word.startswith('{/') else ''}{{{_notes(word)}}}"


def _bar(word: str) -> str:
    line = re.sub(r"\[?\d.*", "", word)
    ends, starts = line.startswith(":"), line.endswith(":")
    double = "||" in line or "]" in line or line.startswith("[|")
    sign = " ".join([":|"] * ends + ["||"] * (double and not ends) + ["|:"] * starts) or "|"
    numbers = " ".join(re.findall(r"\d+", word))
    return sign + (_mark(f"ending {numbers}") if numbers else "")


_WRITERS: dict[str, Callable[[str], str]] = {
    "text": lambda _: "",
    "decoration": lambda word: _mark(f"sign {word[1:-1]}"),
    "sign": lambda word: _mark(f"sign {word}"),
    "field": lambda word: plain_field(word[1], word[3:-1]),
    "bar": _bar,
    "chord": _chord,
    "grace": _grace,
    "tuplet": str,
    "note": _note,
    "rest": lambda word: _note(word.replace("x", "z")),
    "bars": lambda word: _mark(f"rests {word[1:] or 1}"),
    "broken": lambda word: word[:3],
    "tie": str,
    "overlay": lambda _: f"{_mark('overlay')}|",
}
