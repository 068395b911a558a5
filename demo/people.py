"""The invented people of the demo studio, and how each of them practises."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from demo.simulation import Faults


@dataclass(frozen=True)
class DemoStudent:
    """A student, what the teacher set, and what the simulated playing is like. Weekdays from Monday = 0.

    `first` and `last` are the faults at the beginning and at the end of the weeks shown; `trouble` is a measure
    (and hand) of each piece where one note often goes wrong, whatever else improves.
    """

    nickname: str
    parent: str
    level: Literal["early", "intermediate", "advanced"]
    language: Literal["en", "de"]
    minutes: int
    rest_days: tuple[int, ...]
    lesson_day: int
    note: str
    pieces: tuple[str, ...]
    goal_tempo: float
    first: Faults
    last: Faults
    trouble: dict[str, tuple[int, str]]
    diligence: float
    self_judges: float = 0.0


_UNSURE = Faults(
    jitter_ms=38.0,
    asynchrony_sd_ms=32.0,
    wrong=0.025,
    corrected=0.015,
    missed=0.01,
    hesitation=0.025,
    restart=0.01,
    restart_after_slip=0.3,
    velocity_sd=13.0,
)
_SURER = replace(_UNSURE, jitter_ms=24.0, wrong=0.008, missed=0.003, hesitation=0.008, restart=0.003)
_FLUENT = replace(_SURER, jitter_ms=14.0, asynchrony_sd_ms=12.0, wrong=0.003, hesitation=0.003)

DEMO_STUDENTS = (
    DemoStudent(
        nickname="Juniper",
        parent="Juniper's mother",
        level="intermediate",
        language="en",
        minutes=20,
        rest_days=(5, 6),
        lesson_day=3,
        note="Let the falling sequence ease, and the rising one grow. In measure 3 the left hand still guesses.",
        pieces=("the-ferry-bell", "patchwork-in-d-minor"),
        goal_tempo=88,
        first=_UNSURE,
        last=_FLUENT,
        trouble={"the-ferry-bell": (5, "left"), "patchwork-in-d-minor": (3, "left")},
        diligence=0.85,
    ),
    DemoStudent(
        nickname="Wren",
        parent="Wren's father",
        level="early",
        language="en",
        minutes=12,
        rest_days=(6,),
        lesson_day=4,
        note="Find every entry before you play a note. Slow is fine: both hands should breathe together.",
        pieces=("two-lanterns",),
        goal_tempo=80,
        first=_UNSURE,
        last=_SURER,
        trouble={"two-lanterns": (4, "right")},
        diligence=0.8,
        self_judges=0.15,
    ),
    DemoStudent(
        nickname="Alder",
        parent="Alders Oma",
        level="advanced",
        language="de",
        minutes=30,
        rest_days=(2,),
        lesson_day=2,
        note="Jeder Einsatz soll als Anfang zu hören sein. In Takt 18 und 19 wachsen lassen.",
        pieces=("patchwork-in-d-minor",),
        goal_tempo=76,
        first=_SURER,
        last=_FLUENT,
        trouble={"patchwork-in-d-minor": (4, "right")},
        diligence=0.6,
    ),
)
