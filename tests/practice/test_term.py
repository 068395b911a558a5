"""Half a term with simulated students: what the plan promises, it keeps (the whole term is a benchmark)."""

from __future__ import annotations

from datetime import timedelta

import pytest

from benchmarks.simulated_term import START, STUDENTS, Student, simulate, table
from counterpane.model.practice import Lessons, PlanSettings
from counterpane.practice.ladders import load_ladders
from tests.practice.pieces import assignment

SETTINGS = PlanSettings(20, frozenset({6}), Lessons(START + timedelta(days=20)))
DAYS = 42


@pytest.mark.parametrize("student", STUDENTS, ids=lambda each: each.name)
def test_the_plan_keeps_its_promises(student: Student) -> None:
    """Minutes hold each day, nothing is forgotten before it returns, and no begun section waits for long."""
    term = simulate(student, assignment("intermediate", 12), SETTINGS, DAYS)
    assert max(term.planned_minutes) <= SETTINGS.minutes + 1e-6
    assert max(term.new_sections) <= 1
    assert min(term.recall_at_return) >= 0.7
    assert max(term.late_turns) <= 2
    assert term.longest_wait() <= 5
    begun = {attempt.patch for attempt in term.attempts}
    sections = {patch.id for patch in term.assignment.patches if patch.kind == "patch"}
    assert sections <= begun, "every section had its turn"


def test_a_fast_student_comes_further_than_a_slow_one() -> None:
    """The plan follows the student: the last section is finished earlier, and nobody is held to another's pace."""
    ladders = load_ladders()
    terms = [simulate(each, assignment("intermediate", 12), SETTINGS, DAYS) for each in STUDENTS[:2]]
    sections = [patch.id for patch in terms[0].assignment.patches if patch.kind == "patch"]
    fast, slow = (max(term.finished(ladders)[section] for section in sections) for term in terms)
    assert fast < slow


def test_a_term_can_be_run_again() -> None:
    """The same seed gives the same term; the table has a line for each student."""
    first, second = (simulate(STUDENTS[0], assignment("early", 4), SETTINGS, 10) for _ in range(2))
    assert first.attempts == second.attempts
    assert len(table([first, second]).splitlines()) == 3
