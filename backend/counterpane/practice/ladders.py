"""The graded drills of a patch, read from the ladder files and their wording.

`load_ladders` reads and checks a whole folder; `ladder_for` picks the steps that a patch needs: a step with
`only_if` is left out when the patch does not have that much of the named part of difficulty.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from counterpane.errors import DrillError
from counterpane.model.practice import Difficulty, Goals, Ladder, Level, Patch, PatchKind, Step
from counterpane.practice.ladder_check import LadderFile
from counterpane.practice.ladder_settings import GOALS, LEVELS, PATCH_KINDS
from counterpane.resources import drills_folder
from counterpane.wording import Catalogue, check_language, read_catalogue

_TEXTS = ("title", "instruction", "step_up", "step_back")


@dataclass(frozen=True)
class PatchLength:
    """How long a patch may be, in 4/4 measures at difficulty 1 and 10, and in which order patches are begun."""

    when_easy: float
    when_hard: float
    first_pass: str

    def quarters(self, difficulty: float) -> float:
        """Return the greatest length in quarter notes at a difficulty of 1 to 10."""
        return 4 * (self.when_easy + (self.when_hard - self.when_easy) * (difficulty - 1) / 9)


@dataclass(frozen=True)
class _RatedStep:
    """A step with the part of difficulty that calls for it."""

    step: Step
    part: str | None
    at_least: float


@dataclass(frozen=True)
class Ladders:
    """All ladders of a folder, by level and kind of patch, in one language."""

    language: str
    lengths: Mapping[Level, PatchLength]
    steps: Mapping[tuple[Level, PatchKind], tuple[_RatedStep, ...]]


def load_ladders(folder: Path | None = None, language: str = "en") -> Ladders:
    """Read the ladders for all levels; raises `DrillError` that names file, line, key and what was expected."""
    return _remembered(folder or drills_folder(), language)


def ladder_for(patch: Patch, level: Level, ladders: Ladders | None = None) -> Ladder:
    """Return the drills of `patch` at `level`."""
    check_level(level)
    rated = (ladders or load_ladders()).steps[level, patch.kind]
    return Ladder(level, patch.kind, tuple(each.step for each in rated if _applies(each, patch)))


def check_level(level: str) -> None:
    """Raise `DrillError` when there is no such level."""
    if level not in LEVELS:
        raise DrillError(f"there is no level {level!r}: choose one of {', '.join(LEVELS)}")


def _applies(rated: _RatedStep, patch: Patch) -> bool:
    if rated.part is None:
        return True
    by_hands: dict[str, Difficulty] = {
        "right": patch.difficulty_right,
        "left": patch.difficulty_left,
        "both": patch.difficulty,
    }
    values = {name: value for name, value, _ in by_hands[rated.step.hands].parts}
    return values.get(rated.part, 0.0) >= rated.at_least


@cache
def _remembered(folder: Path, language: str) -> Ladders:
    return read_ladders(folder, language)


def read_ladders(folder: Path, language: str = "en") -> Ladders:
    """Read and check the ladders of a folder anew."""
    words = read_catalogue(folder / f"steps.{check_language(language)}.toml")
    lengths: dict[Level, PatchLength] = {}
    steps: dict[tuple[Level, PatchKind], tuple[_RatedStep, ...]] = {}
    for level in LEVELS:
        file = LadderFile(folder / f"ladders.{level}.toml", {key.partition(".")[0] for key in words.sentences})
        if file.table["level"] != level:
            raise file.wrong(("level",), f'expected "{level}", as the file is called')
        patches = file.table["patches"]
        lengths[level] = PatchLength(
            patches["measures_when_easy"], patches["measures_when_hard"], patches["first_pass"]
        )
        for kind in PATCH_KINDS:
            steps[level, kind] = tuple(_rated(each, file.table["goals"], words) for each in file.table[kind])
    return Ladders(language, lengths, steps)


def _rated(table: Mapping[str, Any], level_goals: Mapping[str, Any], words: Catalogue) -> _RatedStep:
    only_if = table["only_if"] or {"part": None, "at_least": 0.0}
    return _RatedStep(_step(table, level_goals, words), only_if["part"], only_if["at_least"])


def _step(table: Mapping[str, Any], level_goals: Mapping[str, Any], words: Catalogue) -> Step:
    values = {
        "percent": round(100 * table["tempo_share"]),
        "repetitions": table["repetitions"],
        "misses": table["step_back_after"],
    }
    texts = {text: words.say(f"{table['wording']}.{text}", **values) for text in _TEXTS}
    return Step(
        id=table["id"],
        kind=table["kind"],
        hands=table["hands"],
        heard=table["heard"],
        tempo_share=float(table["tempo_share"]),
        repetitions=table["repetitions"],
        variation=table["variation"],
        goals=_goals(table, level_goals),
        step_back_after=table["step_back_after"],
        in_a_row=table["in_a_row"],
        after_a_night=table["after_a_night"],
        **texts,
    )


def _goals(table: Mapping[str, Any], level_goals: Mapping[str, Any]) -> Goals:
    """Return a step's own goals, else the level's; togetherness is asked only where both hands play."""
    if table["kind"] != "play":
        return Goals(None, None, None)
    wanted = dict(table["goals"] if table["goals"] is not None else level_goals)
    if table["hands"] != "both":
        wanted["togetherness_ms"] = None
    return Goals(*(wanted.get(name) for name in GOALS))
