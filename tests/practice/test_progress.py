"""Step up, step back or stay: the rule on measured attempts."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.model.piece import Hands
from counterpane.model.practice import AttemptSummary, Goals, Ladder, Step, StepKind
from counterpane.practice.progress import is_good, shortfall, standing
from tests.practice.pieces import Heard, attempt

GOALS = Goals(accuracy=0.9, evenness_ms=50.0, togetherness_ms=60.0)


def step(
    name: str, hands: Hands = "both", kind: StepKind = "play", *, repetitions: int = 2, in_a_row: bool = False
) -> Step:
    return Step(
        id=name,
        kind=kind,
        hands=hands,
        heard="none",
        tempo_share=0.5,
        repetitions=repetitions,
        variation=None,
        goals=GOALS,
        title=name,
        instruction="",
        step_up="",
        step_back="",
        step_back_after=3,
        in_a_row=in_a_row,
    )


LADDER = Ladder(
    "early",
    "patch",
    (
        step("listen", kind="listen", repetitions=1),
        step("right", "right"),
        step("left", "left"),
        step("right-faster", "right"),
        step("together"),
        step("in-tempo", in_a_row=True),
    ),
)


def tries(text: str) -> list[AttemptSummary]:
    """Read "right+ right- …" as good and missed attempts."""
    return [attempt(step=word[:-1], accuracy=1.0 if word[-1] == "+" else 0.5) for word in text.split()]


ALONE = "listen+ right+ right+ left+ left+ "
TOGETHER = ALONE + "right-faster+ right-faster+ together+ together+ "

WALKS = [
    # (attempts, the step to work on, good ones there, move)
    ("", "listen", 0, "stay"),
    ("listen+", "right", 0, "up"),
    ("listen+ right+", "right", 1, "stay"),
    ("listen+ right+ right-", "right", 1, "stay"),
    ("listen+ right+ right- right+", "left", 0, "up"),
    ("listen+ right+ right+ left- left-", "left", 0, "stay"),
    # Three misses in a row: the left hand has no earlier step, so the nearest played one is shown once more.
    ("listen+ right+ right+ left- left- left-", "right", 1, "back"),
    ("listen+ right+ right+ left- left- left- right+", "left", 0, "up"),
    # The faster right hand goes back to the slow right hand, past the left one.
    (ALONE + "right-faster- right-faster- right-faster-", "right", 1, "back"),
    (ALONE + "right-faster- right-faster- right-faster- right+", "right-faster", 0, "up"),
    # The first step that is played has nothing to go back to.
    ("listen+ right- right- right-", "right", 0, "stay"),
    # Steps may be done out of order; what is done stays done.
    ("listen+ together+ together+ right+ right+", "left", 0, "up"),
    (TOGETHER, "in-tempo", 0, "up"),
    # In a row means in a row.
    (TOGETHER + "in-tempo+ in-tempo- in-tempo+", "in-tempo", 1, "stay"),
]


@pytest.mark.parametrize(("text", "at", "good", "move"), WALKS)
def test_attempts_lead_up_and_back(text: str, at: str, good: int, move: str) -> None:
    """A table of practice: what was played, and where that leads."""
    found = standing(LADDER, tries(text))
    assert (found.step.id, found.good, found.move) == (at, good, move)


def test_the_ladder_is_done_on_the_day_of_its_last_good_attempt() -> None:
    """Two in a row in tempo finish it; a miss on a later day does not unfinish it."""
    done = TOGETHER + "in-tempo+ in-tempo+"
    found = standing(LADDER, tries(done))
    assert found.move == "done"
    assert found.finished_on == date(2026, 1, 5)
    assert found.done_steps == len(LADDER.steps)
    later = [*tries(done), attempt(accuracy=0.2, day=date(2026, 1, 9))]
    assert standing(LADDER, later).finished_on == date(2026, 1, 5)


def test_hearing_that_was_left_out_is_passed_over() -> None:
    """Who plays at once is not held up by the step of hearing once a step that is played is done."""
    assert standing(LADDER, tries("right+")).step.id == "listen"
    assert standing(LADDER, tries("right+ right+")).step.id == "left"


def test_tallies_tell_of_each_step() -> None:
    """One tally a step, never more good attempts than are wanted."""
    found = standing(LADDER, tries("listen+ right+ right+ right+ left+"))
    assert [(t.step, t.good, t.done) for t in found.tallies][:3] == [
        ("listen", 1, True),
        ("right", 2, True),
        ("left", 1, False),
    ]


def test_a_step_that_was_edited_away_is_passed_over() -> None:
    """Attempts on steps that the ladder does not have change nothing."""
    assert standing(LADDER, tries("gone+ listen+ gone-")) == standing(LADDER, tries("listen+"))


@given(st.lists(st.sampled_from([f"{s.id}{sign}" for s in LADDER.steps for sign in "+-"]), max_size=60))
def test_any_practice_leads_somewhere_on_the_ladder(words: list[str]) -> None:
    """The step to work on is the first that is not done, and finished means that all were done once."""
    found = standing(LADDER, tries(" ".join(words)))
    open_steps = [tally.step for tally in found.tallies if not tally.done]
    assert found.step.id == (open_steps[0] if open_steps else LADDER.steps[-1].id)
    assert found.done_steps + len(open_steps) == len(LADDER.steps)
    assert found.finished or open_steps


GOOD_OR_NOT: list[tuple[Heard, bool]] = [
    ({}, True),
    ({"accuracy": 0.9}, True),
    ({"accuracy": 0.89}, False),
    ({"evenness_ms": 50.0}, True),
    ({"evenness_ms": 50.1}, False),
    ({"togetherness_ms": 61.0}, False),
    ({"togetherness_ms": None}, True),  # what could not be measured is not asked
    ({"accuracy": None}, False),  # nothing was heard
    ({"complete": False}, False),
    ({"accuracy": None, "self_judged": (3, 3, 3)}, True),
    ({"accuracy": None, "self_judged": (2, 2, 3)}, True),
    ({"accuracy": None, "self_judged": (2, 2, 2)}, False),
    ({"accuracy": None, "self_judged": (1, 3, 3)}, False),
]


@pytest.mark.parametrize(("values", "good"), GOOD_OR_NOT)
def test_a_good_attempt_meets_every_goal_that_was_measured(values: Heard, good: bool) -> None:
    """A table of single attempts against goals of 90 %, 50 ms and 60 ms."""
    assert is_good(step("together"), attempt(step="together", **values)) is good


def test_hearing_and_puzzles_have_no_goals() -> None:
    """Doing them is enough; stopping in the middle is not doing them."""
    assert is_good(step("listen", kind="listen"), attempt(accuracy=None))
    assert not is_good(step("find", kind="puzzle"), attempt(accuracy=None, complete=False))


def test_the_shortfall_is_that_of_the_worst_goal() -> None:
    """Twice the allowed errors is a whole shortfall; 75 ms for 50 is half of one."""
    assert shortfall(GOALS, attempt(accuracy=0.8)) == pytest.approx(1.0)
    assert shortfall(GOALS, attempt(evenness_ms=75.0)) == pytest.approx(0.5)
    assert shortfall(GOALS, attempt(accuracy=0.8, evenness_ms=75.0)) == pytest.approx(1.0)
    assert shortfall(GOALS, attempt()) == 0.0
