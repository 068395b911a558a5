"""The only conversions: quarter notes, seconds and ticks; pitches and their names.

Every function names both units. Tempo is always in quarter notes a minute.
"""

from __future__ import annotations

import re
from fractions import Fraction

from counterpane.model.piece import Pitch

_SIGNS = {-3: "bbb", -2: "bb", -1: "b", 0: "", 1: "#", 2: "##", 3: "###"}
_ALTERS = {**{sign: alter for alter, sign in _SIGNS.items()}, "x": 2}
_NAME = re.compile(r"([A-G])(b{0,3}|#{1,3}|x)(-?\d+)")


def quarters_to_ms(quarters: Fraction | float, tempo: float) -> float:
    """Convert a length in quarter notes to milliseconds at `tempo` quarters a minute; not rounded."""
    return float(quarters) * 60_000.0 / tempo


def ms_to_quarters(milliseconds: float, tempo: float) -> float:
    """Convert milliseconds to quarter notes at `tempo` quarters a minute; not rounded."""
    return milliseconds * tempo / 60_000.0


def ticks_to_quarters(ticks: int, ticks_per_quarter: int) -> Fraction:
    """Convert MIDI ticks to quarter notes, exactly."""
    return Fraction(ticks, ticks_per_quarter)


def microseconds_to_tempo(microseconds_per_quarter: int) -> float:
    """Convert a MIDI tempo (microseconds a quarter note) to quarters a minute."""
    return 60_000_000.0 / microseconds_per_quarter


def pitch_name(pitch: Pitch) -> str:
    """Return the name of a pitch, for example "F#4" or "Bb3" (middle C is "C4")."""
    return f"{pitch.step}{_SIGNS[pitch.alter]}{pitch.octave}"


def pitch_from_name(name: str) -> Pitch:
    """Read a pitch name such as "F#4"; raises `ValueError` when it is none."""
    match = _NAME.fullmatch(name)
    if match is None:
        raise ValueError(f"{name!r} is not a pitch name such as F#4 or Bb3")
    step, sign, octave = match.groups()
    return Pitch(step, _ALTERS[sign], int(octave))
