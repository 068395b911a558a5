"""A term with the plan: fast, slow and irregular students at BWV 772, at three levels.

    .venv/bin/python -m pytest benchmarks/test_term_benchmark.py -s

prints a table for each level: sections and joins finished, the most minutes planned and played on a day, how far
returns were still remembered under the scheduler's own model (least, 5th percentile, median), how many days, and
how many days of practice, the latest came after it was due, and the longest wait of a begun section in days of
practice. Then pytest-benchmark's table: the time of one day's plan late in the term, and of 500 fingered notes.
"""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest

from benchmarks.simulated_term import START, STUDENTS, Term, simulate, table
from counterpane.analysis import analyse
from counterpane.model.piece import Note, Pitch
from counterpane.model.practice import Assignment, Lessons, Level, PlanSettings
from counterpane.practice.fingering import fingers_of
from counterpane.practice.ladders import load_ladders
from counterpane.practice.patches import cut_patches
from counterpane.practice.today import today
from counterpane.score import read_score

SCORE = Path(__file__).parents[1] / "tests" / "published" / "scores" / "bwv772.krn"
MINUTES: dict[Level, float] = {"early": 20, "intermediate": 25, "advanced": 40}
TEMPO: dict[Level, float] = {"early": 50, "intermediate": 66, "advanced": 84}
FORGOTTEN = 0.7  # of what is remembered less, one passage in three would have to be learned again


@cache
def invention(level: Level) -> Assignment:
    """Return BWV 772 cut for a level."""
    piece = read_score(SCORE).piece
    patches = cut_patches(piece, analyse(piece), level, TEMPO[level])
    return Assignment("bwv772", piece.title, patches, level, TEMPO[level])


def settings(level: Level) -> PlanSettings:
    return PlanSettings(MINUTES[level], frozenset({6}), Lessons(START + timedelta(days=37)))


@cache
def term(name: str, level: Level) -> Term:
    student = next(each for each in STUDENTS if each.name == name)
    return simulate(student, invention(level), settings(level))


@pytest.mark.parametrize("level", MINUTES)
def test_a_term_keeps_what_the_plan_promises(level: Level) -> None:
    """Minutes hold, returns come before they are forgotten, one section a day at most, and none waits for long."""
    terms = [term(student.name, level) for student in STUDENTS]
    print(f"\nBWV 772, {level}, {MINUTES[level]:g} minutes, quarter = {TEMPO[level]:g}, 84 days\n{table(terms)}")
    for each in terms:
        assert max(each.planned_minutes) <= MINUTES[level] + 1e-6
        assert min(each.recall_at_return) >= FORGOTTEN
        assert max(each.late_turns) <= 2
        assert max(each.new_sections) <= 1
        assert each.longest_wait() <= 5


def test_one_days_plan(benchmark: Any) -> None:
    """The plan of a day late in the term, with all attempts before it."""
    done = term("fast", "intermediate")
    day = START + timedelta(days=80)
    benchmark(today, [done.assignment], done.attempts, done.settings, day, load_ladders())


def test_five_hundred_fingered_notes(benchmark: Any) -> None:
    """The easiest fingering of 500 notes that walk and leap."""
    chance = Random(1)
    pitches = [Pitch(chance.choice("CDEFGAB"), 0, chance.choice((4, 5))) for _ in range(500)]
    value = Fraction(1, 4)
    notes = [Note(f"n{i}", "right", 1, i * value, value, pitch) for i, pitch in enumerate(pitches)]
    benchmark(fingers_of, notes, "right")
