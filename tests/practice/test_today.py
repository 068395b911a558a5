"""The day's plan: one section, what is due again, within the minutes, and always the reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from counterpane.errors import CounterpaneError
from counterpane.model.practice import Assignment, AttemptSummary, DayPlan, Lessons, PlanSettings
from counterpane.practice.ladders import ladder_for, load_ladders
from counterpane.practice.plan_table import plan_table
from counterpane.practice.today import check_settings, next_practice_day, today
from counterpane.practice.units_of_work import Unit, units
from counterpane.practice.weak import weak_units
from counterpane.practice.what_if import plan_days
from tests.practice.pieces import assignment, attempt

MONDAY = date(2026, 1, 5)
STUDY = assignment()
SETTINGS = PlanSettings(minutes=25)


def on(day: int) -> date:
    """Return the day that many days after the first Monday."""
    return MONDAY + timedelta(days=day)


def learned(patch: str, day: date, assigned: Assignment = STUDY, accuracy: float = 1.0) -> list[AttemptSummary]:
    """Return the attempts that do the whole ladder of a patch on one day."""
    found = next(each for each in assigned.patches if each.id == patch)
    ladder = ladder_for(found, assigned.level)
    return [
        attempt(patch, step.id, piece=assigned.piece, day=day, minutes=0.1, accuracy=accuracy)
        for step in ladder.steps
        for _ in range(step.repetitions)
    ]


def unit(patch: str, attempts: Sequence[AttemptSummary], day: date) -> Unit:
    return next(each for each in units([STUDY], attempts, day, load_ladders()) if each.patch.id == patch)


def kinds(plan: DayPlan) -> list[tuple[str, str]]:
    return [(item.kind, item.patch) for item in plan.items]


def test_the_first_day_opens_with_a_puzzle_and_the_opening() -> None:
    """Before any note is played there is a puzzle; then the opening, which shows the subject."""
    plan = today([STUDY], [], SETTINGS, MONDAY)
    assert kinds(plan) == [("puzzle", "p1"), ("new", "p1")]
    assert "the opening shows what the whole piece is made from" in plan.items[1].reason
    assert plan.minutes <= 25


def test_an_unfinished_section_goes_on_where_it_stopped() -> None:
    """No second section is begun while one is unfinished."""
    begun = learned("p1", MONDAY)[:5]
    plan = today([STUDY], begun, SETTINGS, on(1))
    assert [item.patch for item in plan.items] == ["p1"]
    assert plan.items[0].step == "left-slow"
    assert "Go on with “One hand alone, slowly”" in plan.items[0].reason


def test_the_last_steps_wait_for_a_night() -> None:
    """A section learned yesterday is finished today, beside a new one."""
    night = [each for each in learned("p1", MONDAY) if each.step not in ("from-any", "in-tempo")]
    same_evening = today([STUDY], night, SETTINGS, MONDAY)
    assert kinds(same_evening) == []
    plan = today([STUDY], night, SETTINGS, on(1))
    assert kinds(plan) == [("due", "p1"), ("puzzle", "p2"), ("new", "p2")]
    assert plan.items[0].step == "from-any"
    assert "After a night comes" in plan.items[0].reason


def test_what_is_due_comes_first_with_the_reason() -> None:
    """A section finished two days ago comes back before anything new."""
    plan = today([STUDY], learned("p1", MONDAY, accuracy=0.94), SETTINGS, on(2))
    assert kinds(plan)[0] == ("due", "p1")
    assert "last played 2 days ago" in plan.items[0].reason
    assert "% of such passages are still safe" in plan.items[0].reason


def test_the_least_remembered_comes_first() -> None:
    """Of two sections that are due, the one with the smaller recall leads."""
    history = [*learned("p2", MONDAY, accuracy=0.94), *learned("p1", on(1), accuracy=0.94)]
    recall = {
        each.patch.id: each.returns.recall
        for each in units([STUDY], history, on(5), load_ladders())
        if each.returns
    }
    plan = today([STUDY], history, SETTINGS, on(5))
    due = [item.patch for item in plan.items if item.kind == "due"]
    assert due == sorted(due, key=lambda patch: recall[patch])
    assert due == ["p2", "p1"]


def test_a_seam_is_offered_when_both_sections_are_finished() -> None:
    """Join only what holds: first the seam, after it the pair."""
    both = [*learned("p1", MONDAY), *learned("p2", MONDAY)]
    assert ("seam", "p1+p2") in kinds(today([STUDY], both, SETTINGS, on(1)))
    assert not any(kind == "seam" for kind, _ in kinds(today([STUDY], learned("p1", MONDAY), SETTINGS, on(1))))
    seamed = [*both, *learned("p1+p2", on(1))]
    assert ("pair", "p1-p2") in kinds(today([STUDY], seamed, SETTINGS, on(2)))


def everything_learned(day: date, but: str = "") -> list[AttemptSummary]:
    return [each for patch in STUDY.patches if patch.id != but for each in learned(patch.id, day)]


def test_the_whole_comes_when_every_pair_is_finished() -> None:
    """The whole piece is the last join."""
    assert ("whole", "whole") in kinds(today([STUDY], everything_learned(MONDAY, "whole"), SETTINGS, on(1)))


def test_a_larger_stretch_stands_for_its_parts() -> None:
    """When a pair is due, its two sections and their seam are not asked for by themselves as well."""
    history = [
        *learned("p1", MONDAY),
        *learned("p2", MONDAY),
        *learned("p1+p2", MONDAY),
        *learned("p1-p2", MONDAY),
    ]
    plan = today([STUDY], history, SETTINGS, on(60))
    due = [item.patch for item in plan.items if item.kind == "due"]
    assert "p1-p2" in due
    assert not {"p1", "p2", "p1+p2"} & set(due)


def test_a_good_run_of_the_pair_puts_off_its_parts() -> None:
    """Playing two sections in one go is a return of each."""
    history = [
        *learned("p1", MONDAY),
        *learned("p2", MONDAY),
        *learned("p1+p2", MONDAY),
        *learned("p1-p2", MONDAY),
    ]
    played = [*history, attempt("p1-p2", "pair-in-tempo", day=on(9))]
    before, after = (unit("p1", attempts, on(9)).returns for attempts in (history, played))
    assert before is not None
    assert after is not None
    assert after.due > before.due


def test_a_rest_day_is_empty_and_what_falls_on_it_comes_before() -> None:
    """Sunday is free; what would be due then is played on Saturday."""
    settings = replace(SETTINGS, rest_days=frozenset({6}))
    history = learned("p1", on(4), accuracy=0.94)  # Friday; due on Sunday
    saturday, sunday = (today([STUDY], history, settings, on(day)) for day in (5, 6))
    assert sunday.rest_day
    assert sunday.items == ()
    assert kinds(saturday)[0] == ("due", "p1")
    assert "would be due on a day of rest" in saturday.items[0].reason
    assert kinds(today([STUDY], history, SETTINGS, on(5)))[0] != ("due", "p1")


def test_after_missed_days_nothing_is_piled_up() -> None:
    """After three weeks away the day is as long as any other; it says so, and begins nothing new."""
    history = everything_learned(MONDAY)
    plan = today([STUDY], history, replace(SETTINGS, minutes=4), on(21))
    assert plan.minutes <= 4
    assert {item.kind for item in plan.items} == {"due"}
    assert plan.note.startswith(("More is due than fits", "Days without practice since last time: 20"))


def test_missed_days_are_named() -> None:
    """Two days without practice are said, a day of rest between them is not counted."""
    history = learned("p1", MONDAY)
    assert "since last time: 2." in today([STUDY], history, SETTINGS, on(3)).note
    rested = replace(SETTINGS, rest_days=frozenset({1}))
    assert "since last time: 1." in today([STUDY], history, rested, on(3)).note


def test_nothing_new_on_the_day_before_the_lesson() -> None:
    """The weak spots come first, then what is due, then everything that is ready once through."""
    history = [
        *learned("p1", MONDAY),
        *learned("p2", MONDAY)[:-2],
        attempt("p2", "in-tempo", day=MONDAY, accuracy=0.6),
    ]
    plan = today([STUDY], history, replace(SETTINGS, lessons=Lessons(on(2))), on(1))
    assert kinds(plan) == [("weak", "p2"), ("due", "p1")]
    assert "Play it once through, as in the lesson" in plan.items[-1].reason
    assert plan.note.startswith("The lesson is next")
    assert kinds(today([STUDY], history, SETTINGS, on(1)))[-1] == ("new", "p3")


def test_a_rest_day_before_the_lesson_moves_its_eve() -> None:
    """With a lesson on Monday and Sunday off, Saturday is the last day before it."""
    settings = replace(SETTINGS, rest_days=frozenset({6}), lessons=Lessons(on(7)))
    assert today([STUDY], learned("p1", MONDAY), settings, on(5)).note.startswith("The lesson is next")
    assert today([STUDY], learned("p1", MONDAY), settings, on(7)).note.startswith("The lesson is today")


def test_a_lesson_that_is_past_changes_nothing() -> None:
    """Yesterday's lesson date is not in sight any more."""
    past = replace(SETTINGS, lessons=Lessons(MONDAY))
    history = learned("p1", MONDAY)
    assert kinds(today([STUDY], history, past, on(1))) == kinds(today([STUDY], history, SETTINGS, on(1)))


def test_the_first_day_of_all_may_be_the_eve_of_a_lesson() -> None:
    """With nothing practised yet there is nothing weak, so the opening is begun all the same."""
    plan = today([STUDY], [], replace(SETTINGS, lessons=Lessons(on(1))), MONDAY)
    assert ("new", "p1") in kinds(plan)


def test_a_section_that_is_stuck_takes_turns() -> None:
    """After five days without finishing, another section has its turn on the next day, and then this one again."""
    stuck: list[AttemptSummary] = [attempt(step="listen"), attempt(step="find")]
    stuck += [attempt(step="right-slow", accuracy=0.5, day=on(day)) for day in range(5)]
    assert kinds(today([STUDY], stuck, SETTINGS, on(5)))[-1] == ("new", "p2")
    other = [*stuck, attempt("p2", "listen", day=on(5)), attempt("p2", "right-slow", day=on(5), accuracy=0.5)]
    plan = today([STUDY], other, SETTINGS, on(6))
    assert plan.items[-1].patch == "p1"
    assert "takes turns" in plan.items[-1].reason
    again = [*other, attempt(step="right-slow", accuracy=0.5, day=on(6))]
    assert today([STUDY], again, SETTINGS, on(7)).items[-1].patch == "p2"


def test_a_section_done_in_any_order_comes_back() -> None:
    """The last step first, the others days later: the section is finished, and due again."""
    history = learned("p1", MONDAY)
    turned = [*(each for each in history if each.step == "in-tempo")]
    turned += [replace(each, day=on(3)) for each in history if each.step != "in-tempo"]
    found = unit("p1", turned, on(30))
    assert found.finished
    assert found.state == "due"


def test_a_puzzle_alone_may_be_left() -> None:
    """With nothing but the puzzle undone the plan offers the puzzle, and no step that is done."""
    history = [each for each in learned("p1", MONDAY) if each.step == "listen"]
    plan = today([STUDY], history, SETTINGS, on(1))
    assert kinds(plan) == [("puzzle", "p1"), ("new", "p1")]
    assert plan.items[1].step == "right-slow"


def test_a_third_section_is_begun_when_two_do_not_move() -> None:
    """Ten days each for two sections without finishing either, and the piece goes on all the same."""
    heard = [attempt(patch, step) for patch in ("p1", "p2") for step in ("listen", "find")]
    turns = [attempt(f"p{1 + day % 2}", "right-slow", accuracy=0.5, day=on(day)) for day in range(20)]
    assert today([STUDY], [*heard, *turns[:18]], SETTINGS, on(18)).items[-1].patch == "p1"
    assert kinds(today([STUDY], [*heard, *turns], SETTINGS, on(20)))[-1] == ("new", "p3")


def test_what_was_done_today_is_not_asked_again() -> None:
    """Halfway through the day the plan holds what is left of the minutes, and no second section."""
    history = [*learned("p1", MONDAY), *learned("p2", on(1))[:20]]
    minutes = sum(each.minutes for each in history if each.day == on(1))
    plan = today([STUDY], history, SETTINGS, on(1))
    assert plan.minutes <= SETTINGS.minutes - minutes
    assert not any(item.patch == "p3" for item in plan.items)


def test_two_pieces_share_the_new_sections() -> None:
    """The piece of which less was begun has the next new section."""
    other = assignment(name="other")
    history = learned("p1", MONDAY)
    plan = today([STUDY, other], history, SETTINGS, on(1))
    new = [item for item in plan.items if item.kind == "new"]
    assert [(item.piece, item.patch) for item in new] == [("other", "p1")]


def test_only_the_sections_asked_for_are_planned() -> None:
    """With one section assigned, no join leads out of it."""
    label = STUDY.patches[0].section
    asked = replace(STUDY, sections=(label,))
    planned = units([asked], [], MONDAY, load_ladders())
    assert {each.patch.section for each in planned} == {label}
    assert all(set(each.patch.sections) <= {label} for each in planned if each.patch.kind != "patch")


@pytest.mark.parametrize("minutes", [1, 2, 5, 10, 240])
def test_the_minutes_hold_however_few(minutes: float) -> None:
    """A plan is never longer than the minutes allow."""
    for day in range(0, 20, 3):
        plan = today([STUDY], everything_learned(MONDAY, "whole"), replace(SETTINGS, minutes=minutes), on(day))
        assert plan.minutes <= minutes + 1e-9


def test_nothing_assigned_is_said() -> None:
    """A student without a piece is sent to the teacher."""
    plan = today([], [], SETTINGS, MONDAY)
    assert plan.items == ()
    assert plan.note == "Nothing is assigned yet: ask your teacher."


def test_reasons_come_in_german() -> None:
    """Every reason is a sentence in the language that was asked for."""
    plan = today([STUDY], [], replace(SETTINGS, language="de"), MONDAY)
    assert plan.items[-1].reason.startswith("Takt 1")
    assert plan.note == "Ein Abschnitt, und was wieder an der Reihe ist."


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        (PlanSettings(0), "0 minutes a day cannot be planned: choose 1 to 240"),
        (PlanSettings(500), "500 minutes a day cannot be planned"),
        (PlanSettings(20, frozenset({7})), "there is no weekday 7: rest days are 0"),
        (PlanSettings(20, frozenset(range(7))), "every day of the week is a rest day"),
    ],
)
def test_settings_that_no_plan_can_keep_are_one_sentence(settings: PlanSettings, message: str) -> None:
    """Minutes and weekdays are checked before anything is planned."""
    with pytest.raises(CounterpaneError, match=message):
        today([STUDY], [], settings, MONDAY)
    with pytest.raises(CounterpaneError, match=message):
        check_settings(settings)


def test_days_of_the_past_cannot_be_planned() -> None:
    """A what-if begins on or after the last attempt, and looks 1 to 120 days ahead."""
    history = learned("p1", on(3))
    with pytest.raises(CounterpaneError, match=r"2026-01-05 lies before the last attempt \(2026-01-08\)"):
        plan_days([STUDY], history, SETTINGS, MONDAY)
    for days in (0, 121):
        with pytest.raises(CounterpaneError, match=f"{days} days cannot be planned: choose 1 to 120"):
            plan_days([STUDY], [], SETTINGS, MONDAY, days)


def test_attempts_after_the_day_are_not_looked_at() -> None:
    """Tomorrow's practice cannot change today's plan."""
    history = learned("p1", on(1))
    assert today([STUDY], history, SETTINGS, MONDAY) == today([STUDY], [], SETTINGS, MONDAY)


def test_the_next_practice_day_steps_over_rest_days() -> None:
    """From Friday with the weekend off it is Monday."""
    weekend_off = replace(SETTINGS, rest_days=frozenset({5, 6}))
    assert next_practice_day(weekend_off, on(4)) == on(7)
    assert next_practice_day(SETTINGS, on(4)) == on(5)


def test_states_follow_the_work() -> None:
    """New, in work, secure, due: in that order."""
    assert unit("p1", [], MONDAY).state == "new"
    assert unit("p1", learned("p1", MONDAY)[:3], MONDAY).state == "in work"
    assert unit("p1", learned("p1", MONDAY), MONDAY).state == "secure"
    assert unit("p1", learned("p1", MONDAY), on(30)).state == "due"


def test_weak_spots_are_those_that_fell_short_lately() -> None:
    """Two weeks count; what went well, and what is long ago, does not."""
    history = [
        attempt("p1", "right-slow", accuracy=0.5, day=MONDAY),
        attempt("p2", "right-slow", accuracy=0.93, day=on(20)),
        attempt("p3", "right-slow", complete=False, day=on(20)),
        attempt("p4", "right-slow", day=on(20)),
    ]
    found = weak_units(units([STUDY], history, on(21), load_ladders()), on(21))
    assert [(each.patch.id, round(value, 2)) for each, value in found] == [("p3", 1.0), ("p2", 0.17)]


def test_the_table_shows_each_day_and_why() -> None:
    """Two days of a what-if as a person reads them."""
    plans = plan_days([STUDY], [], replace(SETTINGS, rest_days=frozenset({1}), lessons=Lessons(on(5))), MONDAY, 2)
    monday, puzzle, new, tuesday = plan_table(plans).splitlines()
    assert monday == "Mon 2026-01-05  18.7 of 25 min  One section, and what is due again."
    assert puzzle.startswith("   1.5 min  puzzle A1       m. 1-4     RL  72.0/min  Study: Measures 1 to 4: a new")
    assert new.startswith(
        "  17.2 min  new    A1       m. 1-4     RL  72.0/min  Study: Measures 1 to 4: the opening"
    )
    assert tuesday == "Tue 2026-01-06   0.0 of 25 min  Today is a day of rest."
