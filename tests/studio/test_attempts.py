"""An attempt is heard, kept once, and counts where it belongs."""

from __future__ import annotations

import threading
from datetime import timedelta, timezone
from pathlib import Path

import pytest

from counterpane.store import assessments, attempts
from counterpane.studio import corrections, people
from counterpane.studio.attempts import attempt_page
from counterpane.studio.drills import drill
from counterpane.studio.history import history
from counterpane.studio.house import Studio, open_studio
from counterpane.studio.puzzles import GivenAnswer, record_answer
from counterpane.studio.quilt import quilt
from counterpane.studio.reassess import reassess
from tests.studio.conftest import NOW, SHORT, STUDENT
from tests.studio.trying import patch, record


def test_the_same_attempt_from_eight_sides_is_kept_once(studio: Studio) -> None:
    """Two tabs, a retry, a slow network: whatever arrives under one `client_id` is one attempt."""
    pages = []
    threads = [threading.Thread(target=lambda: pages.append(record(studio, "attempt-1"))) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert len({page.attempt.id for page in pages}) == 1
    assert sorted(page.repeated for page in pages) == [False, *[True] * 7]
    with studio.store.read() as db:
        assert len(attempts.of_student(db, STUDENT)) == 1
        assert len(assessments.engines(db, pages[0].attempt.id)) == 1


def test_good_tries_lead_to_the_next_step(studio: Studio) -> None:
    """After the wanted number of good tries a step is done, and the page says what comes next."""
    ladder = drill(studio, STUDENT, SHORT, patch(studio).id, NOW.date()).ladder
    step = next(one for one in ladder.steps if one.id == "right-slow")
    for number in range(step.repetitions):
        page = record(studio, f"attempt-{number}", started_at=NOW + timedelta(minutes=number))
    progress = {one.step_id: one for one in drill(studio, STUDENT, SHORT, "p1", NOW.date()).progress}
    assert (progress["right-slow"].met, progress["right-slow"].done) == (step.repetitions, True)
    assert page.next.step_id != "right-slow"
    assert page.next.sentence.startswith("This step is done.")


def test_a_hand_is_secure_when_its_steps_are_done(studio: Studio) -> None:
    """The quilt tells the hands apart: the right hand's steps are done, the left has not begun."""
    drilled = drill(studio, STUDENT, SHORT, "p1", NOW.date())
    own = [one for one in drilled.ladder.steps if one.kind == "play" and one.hands == "right"]
    minute = 0
    for step in own:
        for _ in range(step.repetitions):
            minute += 1
            record(studio, f"attempt-{minute:04d}", step_id=step.id, started_at=NOW + timedelta(minutes=minute))
    shown = quilt(studio, STUDENT, SHORT, NOW.date()).sections[0].patches[0]
    assert (shown.right, shown.left, shown.both) == ("secure", "new", "new")


def test_an_attempt_counts_on_the_day_where_it_was_played(studio: Studio) -> None:
    """Half past eleven at night in Auckland is that day there, whatever the day is at the server."""
    auckland = timezone(timedelta(hours=13))
    late = NOW.replace(hour=23, minute=30).astimezone(auckland)
    page = record(studio, "attempt-1", started_at=late)
    with studio.store.read() as db:
        assert attempts.attempt(db, page.attempt.id).day == "2026-03-03"


def test_a_clock_that_runs_ahead_does_not_lift_attempts_out_of_the_log(studio: Studio) -> None:
    page = record(studio, "attempt-1", started_at=NOW + timedelta(days=400))
    with studio.store.read() as db:
        assert attempts.attempt(db, page.attempt.id).day == "2026-03-02"


def test_an_attempt_follows_its_measures_when_patches_are_cut_anew(studio: Studio) -> None:
    """A new level cuts other patches; an attempt counts for the one that has its measures, or for none."""
    record(studio, "attempt-1")
    first = patch(studio)
    people.change_student(studio, None, STUDENT, {"level": "advanced"}, NOW)
    past = history(studio, STUDENT)
    counted = past.summaries[0].patch
    fitting = [
        one.id
        for one in past.assignments[0].patches
        if (one.first_measure, one.last_measure) == (first.first_measure, first.last_measure)
    ]
    assert counted in fitting if fitting else counted == "p1 (as it was)"
    assert len(past.rows) == 1


def test_after_a_correction_attempts_stay_and_the_page_says_so(studio: Studio) -> None:
    """The teacher moves a section's boundary: nothing is lost, and the student is led on."""
    number = record(studio, "attempt-1").attempt.id
    second = studio.library.work(SHORT).analysis.sections[1]
    moved = {
        "kind": "move_boundary",
        "first_measure": second.first_measure,
        "to_measure": second.first_measure + 1,
    }
    corrections.correct(studio, None, SHORT, [moved], NOW)
    page = attempt_page(studio, number)
    assert page.next.sentence
    assert studio.library.work(SHORT).analysis.sections[1].first_measure == second.first_measure + 1
    assert corrections.corrections(studio, SHORT)["corrections"] == [moved]


def test_a_newer_engine_hears_again_and_the_old_result_stays(
    studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reassessing adds an assessment by the newer engine, once, from the key events as they were played."""
    number = record(studio, "attempt-1").attempt.id
    assert reassess(studio, None, NOW).heard == 0
    monkeypatch.setattr("counterpane.studio.reassess.ENGINE", "next")
    monkeypatch.setattr("counterpane.listening.assess.ENGINE", "next")
    assert reassess(studio, NOW.date() + timedelta(days=1), NOW).heard == 0
    told: list[tuple[int, int]] = []
    found = reassess(studio, NOW.date(), NOW, lambda done, everything: told.append((done, everything)))
    assert (found.heard, found.not_heard, told[-1]) == (1, (), (1, 1))
    assert reassess(studio, None, NOW).heard == 0
    with studio.store.read() as db:
        old, new = assessments.engines(db, number)
        newest = assessments.newest(db, number)
    assert (new, old != new) == ("next", True)
    assert newest is not None
    assert newest.accuracy == 1.0


def test_a_history_at_hand_is_what_a_fresh_one_would_be(
    studio: Studio, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is added, also by another process, in whatever order: what is kept at hand is never old."""

    def same() -> bool:
        fresh = open_studio(path)
        try:
            return history(studio, STUDENT) == history(fresh, STUDENT)
        finally:
            fresh.close()

    assert same()
    record(studio, "attempt-1", started_at=NOW + timedelta(hours=1))
    assert same()
    record(studio, "attempt-2", started_at=NOW)
    assert same(), "an attempt that waited offline stands where it was played"
    puzzle = studio.library.puzzles(studio.library.work(SHORT), "en")[0]
    answer = ("n1",) if puzzle.kind.startswith("tap") else 0
    given = GivenAnswer("answer-1", SHORT, puzzle.id, answer, 9000, NOW + timedelta(hours=2), patch(studio).id)
    record_answer(studio, STUDENT, given)
    assert same()
    record(studio, "attempt-3", started_at=NOW + timedelta(hours=1, minutes=30))
    assert same()
    other = open_studio(path)
    record(other, "attempt-4", started_at=NOW + timedelta(hours=3))
    monkeypatch.setattr("counterpane.studio.reassess.ENGINE", "next")
    monkeypatch.setattr("counterpane.listening.assess.ENGINE", "next")
    assert reassess(other, None, NOW).heard == 4
    other.close()
    assert same()
    people.change_student(studio, None, STUDENT, {"level": "intermediate"}, NOW)
    assert same()
    people.assign(studio, None, STUDENT, (), NOW)
    assert same()
    assert len(history(studio, STUDENT).rows) == 4


def test_what_could_not_be_heard_is_heard_later(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """An attempt that was kept in spite of a fault of ours gets its assessment by `reassess`."""

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    with monkeypatch.context() as patched:
        patched.setattr("counterpane.studio.hearing.assess", broken)
        page = record(studio, "attempt-1")
    assert page.assessment is None
    assert reassess(studio, None, NOW).heard == 1
    assert attempt_page(studio, page.attempt.id).assessment is not None
