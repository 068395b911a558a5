"""The words of ABC music code (The abc music standard 2.1, December 2011, section 4)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

_LENGTH = r"\d{0,3}/*\d{0,3}"
_TOKEN = re.compile(
    rf"""(?P<text>"[^"]*")
    |(?P<decoration>![^!\s]+!|\+[^+\s]+\+)
    |(?P<field>\[[A-Za-z]:[^\]]*\])
    |(?P<bar>(?:\[\|\]?|:*\|+[\]:|]*|::+)(?:\s*\[?(?=\d)\d[\d,\-]*)?|\[\d[\d,\-]*)
    |(?P<chord>\[[^\]|:]*\]{_LENGTH})
    |(?P<grace>\{{[^}}]*\}})
    |(?P<tuplet>\([2-9](?::[1-9]?(?::\d?)?)?)
    |(?P<note>(?:\^\^|\^|__|_|=)?[A-Ga-g][,']*{_LENGTH})
    |(?P<rest>[zx]{_LENGTH})
    |(?P<bars>[ZX]\d{{0,3}})
    |(?P<broken><+|>+)
    |(?P<tie>-)
    |(?P<overlay>&)
    |(?P<sign>[.~HLMOPSTuv])
    """,
    re.VERBOSE,
)
_NOTE = re.compile(rf"(\^\^|\^|__|_|=)?([A-Ga-g])([,']*)({_LENGTH})(-?)")


def tokens(text: str) -> Iterator[tuple[str, str]]:
    """Yield (kind, text) of each word; what the standard does not define is passed over, as it asks."""
    for match in _TOKEN.finditer(text):
        assert match.lastgroup is not None
        yield match.lastgroup, match[0]


def notes_in(text: str) -> Iterator[tuple[str, str, str, str, bool]]:
    """Yield (accidental, letter, octave marks, length, tied) of each note in a chord or grace group."""
    for accidental, letter, marks, length, tie in _NOTE.findall(text):
        yield accidental, letter, marks, length, bool(tie)


def length_factor(text: str) -> Fraction | None:
    """Return what a length such as "3/2", "/" or "//" multiplies the unit by; None for a division by 0."""
    number, slashes, divisor = re.fullmatch(r"(\d*)(/*)(\d*)", text).groups()  # type: ignore[union-attr] # the token's form
    numerator = int(number) if number else 1
    if not slashes:
        return Fraction(numerator) if numerator else None
    denominator = int(divisor) if divisor else 2 ** len(slashes)
    return Fraction(numerator, denominator) if denominator and numerator else None
