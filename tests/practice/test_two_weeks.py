"""The first two weeks of each demo piece and of BWV 772, as a table that a person has read.

The tables in tests/practice/tables/ are what `counterpane plan` would print for a beginner of that piece,
without the reasons. After a change that is meant, write them anew and read them before they are committed:

    .venv/bin/python -m tests.practice.test_two_weeks
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest

from counterpane.analysis import analyse
from counterpane.analysis.puzzles import make_puzzles
from counterpane.model.practice import Assignment, DayPlan, Lessons, Level, PlanSettings
from counterpane.practice.patches import cut_patches
from counterpane.practice.plan_table import plan_table
from counterpane.practice.puzzle_choice import puzzle_for
from counterpane.practice.what_if import plan_days
from counterpane.score import read_score

ROOT = Path(__file__).parents[2]
TABLES = Path(__file__).parent / "tables"
MONDAY = date(2026, 1, 5)
SETTINGS = PlanSettings(20, frozenset({6}), lessons=Lessons(MONDAY + timedelta(days=8)))

PIECES: dict[str, tuple[Path, Level, float]] = {
    "two-lanterns": (ROOT / "demo/pieces/two-lanterns.musicxml", "early", 72),
    "the-ferry-bell": (ROOT / "demo/pieces/the-ferry-bell.musicxml", "early", 80),
    "patchwork-in-d-minor": (ROOT / "demo/pieces/patchwork-in-d-minor.musicxml", "intermediate", 66),
    "bwv772": (ROOT / "tests/published/scores/bwv772.krn", "intermediate", 66),
}


@cache
def assigned(name: str) -> Assignment:
    """Return a piece cut for its player."""
    path, level, tempo = PIECES[name]
    piece = read_score(path).piece
    return Assignment(name, piece.title, cut_patches(piece, analyse(piece), level, tempo), level, tempo)


@cache
def two_weeks(name: str) -> tuple[DayPlan, ...]:
    """Return the first fourteen days."""
    return plan_days([assigned(name)], [], SETTINGS, MONDAY, 14)


def without_reasons(plans: Sequence[DayPlan]) -> str:
    """Return the table as far as the titles."""
    return (
        "\n".join(line.partition(f"  {plans[0].items[0].title}: ")[0] for line in plan_table(plans).splitlines())
        + "\n"
    )


@pytest.mark.parametrize("name", PIECES)
def test_the_table_is_the_one_that_was_read(name: str) -> None:
    """Day for day as it was looked at by a person."""
    assert without_reasons(two_weeks(name)) == (TABLES / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", PIECES)
def test_it_begins_as_a_teacher_would(name: str) -> None:
    """The first day is a puzzle and then the opening."""
    first = two_weeks(name)[0]
    assert [(item.kind, item.patch) for item in first.items] == [("puzzle", "p1"), ("new", "p1")]
    assert first.items[1].first_measure == assigned(name).patches[0].first_measure


@pytest.mark.parametrize("name", PIECES)
def test_each_day_holds_its_minutes_and_its_rest(name: str) -> None:
    """No day is longer than twenty minutes, Sundays are free, and one section at most is begun a day."""
    for plan in two_weeks(name):
        assert plan.minutes <= SETTINGS.minutes + 1e-9
        assert plan.rest_day == (plan.day.weekday() == 6)
        assert sum(item.kind == "new" for item in plan.items) <= 1
        joins = sum(item.kind in ("seam", "pair", "whole") and item.state == "new" for item in plan.items)
        assert joins <= 1 or not any(item.kind == "new" for item in plan.items)
        assert all(item.reason for item in plan.items)
        assert len({(item.patch, item.kind) for item in plan.items}) == len(plan.items)


@pytest.mark.parametrize("name", PIECES)
def test_the_lesson_is_prepared(name: str) -> None:
    """Nothing is begun on the last day before the lesson or on its own; new things come before and after."""
    by_day = {plan.day: plan for plan in two_weeks(name)}
    for day in (MONDAY + timedelta(days=7), MONDAY + timedelta(days=8)):
        assert not any(item.state == "new" for item in by_day[day].items)
        assert by_day[day].items


@pytest.mark.parametrize("name", PIECES)
def test_nothing_is_joined_before_its_parts_hold(name: str) -> None:
    """A seam comes after both of its sections came back or were finished; a pair after its seam."""
    met: list[str] = []
    parts = {patch.id: patch.parts for patch in assigned(name).patches}
    for plan in two_weeks(name):
        for item in plan.items:
            if item.kind == "seam":
                assert set(parts[item.patch]) <= set(met)
            if item.kind == "pair":
                assert "+".join(parts[item.patch]) in met
        met += [item.patch for item in plan.items]


@pytest.mark.parametrize("name", PIECES)
def test_what_was_finished_comes_back_within_days(name: str) -> None:
    """Every section that is begun in the first week is met again in the two weeks."""
    plans = two_weeks(name)
    begun = {item.patch for plan in plans[:6] for item in plan.items if item.kind == "new"}
    inside = {part for patch in assigned(name).patches for part in patch.parts if patch.kind == "pair"}
    for patch in begun:
        met = [plan.day for plan in plans for item in plan.items if _holds(name, item.patch, patch)]
        assert len(set(met)) >= 2
    assert begun <= inside | {"p1"}


def _holds(name: str, outer: str, inner: str) -> bool:
    return outer == inner or any(p.id == outer and inner in p.parts for p in assigned(name).patches)


@pytest.mark.parametrize("name", PIECES)
def test_every_new_section_has_a_puzzle_to_open_it(name: str) -> None:
    """The piece has a puzzle for each section that the plan opens with one."""
    path, level, _ = PIECES[name]
    piece = read_score(path).piece
    puzzles = make_puzzles(piece, analyse(piece))
    for patch in assigned(name).patches:
        assert puzzle_for(patch, puzzles, level) is not None


if __name__ == "__main__":
    for each in PIECES:
        (TABLES / f"{each}.txt").write_text(without_reasons(two_weeks(each)), encoding="utf-8")
