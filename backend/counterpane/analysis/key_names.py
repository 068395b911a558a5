"""Keys by name: "C major", "A minor", "Bb major"; and where a spelled pitch lies from a tonic.

Pitches are placed on the line of fifths (C 0, G 1, D 2 …, F -1, Bb -2 …), which keeps spelling: G# is 8, Ab is -4.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from counterpane.model.piece import KeySignature, Pitch

Mode = Literal["major", "minor"]
_FIFTHS_OF_STEP = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_STEPS_BY_FIFTH = "FCGDAEB"


@dataclass(frozen=True, slots=False)
class Key:
    """A key: its tonic on the line of fifths and its mode."""

    fifth: int
    mode: Mode

    @cached_property
    def name(self) -> str:
        """The name as printed, for example "F# minor"."""
        return f"{fifth_name(self.fifth)} {self.mode}"

    @property
    def tonic(self) -> int:
        """Pitch class of the tonic, 0 to 11."""
        return 7 * self.fifth % 12

    @property
    def signature(self) -> int:
        """Sharps (positive) or flats (negative) of the key signature."""
        return self.fifth if self.mode == "major" else self.fifth - 3


# Major keys from Db to F# and minor keys from Bb to D#: what keyboard music of the trade is written in.
ALL_KEYS = tuple(Key(fifth, "major") for fifth in range(-5, 7)) + tuple(
    Key(fifth, "minor") for fifth in range(-2, 10)
)


def fifth_of(pitch: Pitch) -> int:
    """Return where a spelled pitch lies on the line of fifths."""
    return _FIFTHS_OF_STEP[pitch.step] + 7 * pitch.alter


def fifth_name(fifth: int) -> str:
    """Return the name of a pitch class on the line of fifths, for example "Bb"."""
    turns, index = divmod(fifth + 1, 7)
    return _STEPS_BY_FIFTH[index] + ("#" * turns if turns > 0 else "b" * -turns)


def key_from_name(name: str) -> Key:
    """Read a key name such as "Bb major"; raises `ValueError` when it is none."""
    if name not in _KEYS_BY_NAME:
        raise ValueError(f"{name!r} is not a key name such as C major or F# minor")
    return _KEYS_BY_NAME[name]


def keys_of_signature(signature: KeySignature) -> tuple[Key, Key]:
    """Return the major and the minor key that a signature stands for."""
    return Key(signature.fifths, "major"), Key(signature.fifths + 3, "minor")


_MODES: tuple[Mode, Mode] = ("major", "minor")
_KEYS_BY_NAME = {key.name: key for fifth in range(-8, 13) for mode in _MODES for key in (Key(fifth, mode),)}
