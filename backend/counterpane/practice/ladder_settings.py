"""The settings that a ladder file may hold: one table from which checking, defaults and documentation follow.

Every kind of table (`file`, `patches`, `goals`, `step`, `only_if`) lists its settings with what is expected; a
setting without a default is required. A test holds drills/README.md against this table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, get_args

from counterpane.model.piece import Hands
from counterpane.model.practice import Level, PatchKind, StepKind
from counterpane.practice.difficulty_parts import PARTS

LEVELS: tuple[Level, ...] = get_args(Level)
PATCH_KINDS: tuple[PatchKind, ...] = get_args(PatchKind)
STEP_KINDS: tuple[StepKind, ...] = get_args(StepKind)
HANDS: tuple[Hands, ...] = get_args(Hands)
HEARD = ("none", "other", "both")
VARIATIONS = ("long-short", "short-long", "accents-moved", "eyes-closed", "from-any-statement")
FIRST_PASSES = ("in-order", "easiest-next", "hardest-first")
GOALS = ("accuracy", "evenness_ms", "togetherness_ms")

_REQUIRED = object()


@dataclass(frozen=True)
class Setting:
    """One setting: what is expected in words, how to tell, and what it is when left out."""

    expected: str
    holds: Callable[[Any], bool]
    default: object = _REQUIRED

    @property
    def required(self) -> bool:
        """Whether the setting has to be given."""
        return self.default is _REQUIRED


def _one_of(choices: tuple[str, ...], default: object = _REQUIRED) -> Setting:
    listed = ", ".join(f'"{choice}"' for choice in choices)
    return Setting(f"one of {listed}", lambda value: isinstance(value, str) and value in choices, default)


def _number(low: float, high: float, default: object = _REQUIRED) -> Setting:
    return Setting(
        f"a number from {low:g} to {high:g}", lambda value: _is_number(value) and low <= value <= high, default
    )


def _whole(low: int, high: int, default: object = _REQUIRED) -> Setting:
    expected = f"a whole number from {low} to {high}"
    return Setting(expected, lambda value: _is_number(value) and value in range(low, high + 1), default)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _name(default: object = _REQUIRED) -> Setting:
    expected = "a name of small letters, digits and hyphens in quotes"
    return Setting(expected, lambda value: isinstance(value, str) and _is_name(value), default)


def _is_name(text: str) -> bool:
    return bool(text) and all(c.islower() or c.isdigit() or c == "-" for c in text)


def _flag() -> Setting:
    return Setting("true or false", lambda value: isinstance(value, bool), False)


def _table(default: object = _REQUIRED) -> Setting:
    return Setting("a table", lambda value: isinstance(value, Mapping), default)


def _steps() -> Setting:
    expected = "at least one step, each under its own [[…]] heading"
    return Setting(
        expected,
        lambda value: isinstance(value, list) and bool(value) and all(isinstance(s, Mapping) for s in value),
    )


_GOAL_SETTINGS = {
    "accuracy": _number(0.5, 1, None),
    "evenness_ms": _number(5, 300, None),
    "togetherness_ms": _number(5, 300, None),
}

SETTINGS: Mapping[str, Mapping[str, Setting]] = {
    "file": {
        "level": _one_of(LEVELS),
        "patches": _table(),
        "goals": _table(),
        **{kind: _steps() for kind in PATCH_KINDS},
    },
    "patches": {
        "measures_when_easy": _number(1, 64),
        "measures_when_hard": _number(1, 64),
        "first_pass": _one_of(FIRST_PASSES, "in-order"),
    },
    "goals": _GOAL_SETTINGS,
    "step": {
        "id": _name(),
        "wording": _name(None),
        "kind": _one_of(STEP_KINDS),
        "hands": _one_of(HANDS),
        "heard": _one_of(HEARD, "none"),
        "tempo_share": _number(0.1, 1.2),
        "repetitions": _whole(1, 20),
        "in_a_row": _flag(),
        "step_back_after": _whole(1, 20, 3),
        "after_a_night": _flag(),
        "variation": _one_of(VARIATIONS, None),
        "only_if": _table(None),
        "goals": _table(None),
    },
    "only_if": {
        "part": _one_of(PARTS),
        "at_least": _number(0, 1),
    },
}
