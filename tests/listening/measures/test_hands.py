"""Togetherness and balance: hand against hand, in time and in loudness."""

import numpy as np
import pytest

from counterpane.listening.measures.balance import balance
from counterpane.listening.measures.togetherness import togetherness
from tests.listening.measures.figures import number, rows
from tests.listening.measures.playing import analysis_of, heard_from, piece_of, play, statement_of

LINE = "C5:1 D5:1 E5:1 F5:1 G5:1 F5:1 E5:1 D5:1 " * 3
BASS = "C3:1 B2:1 C3:1 D3:1 E3:1 D3:1 C3:1 B2:1 " * 3


@pytest.mark.parametrize(("left_late", "leads"), [(35.0, "right"), (-60.0, "left"), (0.0, None)])
def test_who_leads_and_by_how_much(left_late: float, leads: str | None) -> None:
    """The left hand late by a known time: the median says it, less the time a note takes on the wire."""
    piece = piece_of(LINE, BASS)
    keys = play(piece, late_ms=lambda note: left_late if note.hand == "left" else 0.0)
    found = togetherness(heard_from(piece, keys))
    assert found["value"] == pytest.approx(max(0.0, abs(left_late) - 0.96))
    assert found["lead_ms"] == pytest.approx(left_late)
    assert found["leads"] == leads


def test_the_ninetieth_percentile_hears_the_few_that_are_apart() -> None:
    """Three of twenty-four places 200 ms apart leave the median alone and raise the 90th percentile."""
    piece = piece_of(LINE, BASS)
    keys = play(piece, late_ms=lambda note: 200.0 if note.hand == "left" and note.onset in (3, 9, 17) else 0.0)
    found = togetherness(heard_from(piece, keys))
    assert found["value"] == 0
    assert number(found["p90_ms"]) > 100
    apart = [row["measure"] for row in rows(found["by_measure"]) if row["median_ms"] > 90]
    assert apart == []


def test_a_known_mean_asynchrony_is_recovered() -> None:
    """A mean of 20 ms with an SD of 15 ms over 24 places is told within two standard errors."""
    piece = piece_of(LINE, BASS)
    random = np.random.default_rng(11)
    keys = play(piece, late_ms=lambda note: float(random.normal(20, 15)) if note.hand == "left" else 0.0)
    assert togetherness(heard_from(piece, keys))["mean_ms"] == pytest.approx(20, abs=2 * 15 / 24**0.5)


def test_one_hand_alone_has_no_togetherness() -> None:
    """A drill for one hand says why there is no figure."""
    piece = piece_of(LINE, BASS)
    right = [key for key in play(piece) if str(key.note).startswith("r")]
    found = togetherness(heard_from(piece, right, hands="right"))
    assert (found["value"], found["reason"]) == (None, "Only one hand was asked to play.")


def test_the_subject_is_in_front_or_covered() -> None:
    """One statement played over the other hand, one under it."""
    piece = piece_of(LINE, BASS)
    analysis = analysis_of(
        statements=(
            statement_of(piece, *(f"r{n}" for n in range(8))),
            statement_of(piece, *(f"l{n}" for n in range(8, 16))),
        )
    )
    keys = play(piece, velocity=lambda note: (80 if note.hand == "right" else 60) + note.midi % 3)
    found = balance(heard_from(piece, keys), analysis)
    assert found["value"] == pytest.approx(20, abs=2)
    assert [row["balance"] for row in rows(found["subject"])] == ["in_front", "covered"]
    assert (found["in_front"], found["of"]) == (1, 2)


def test_scattered_loudness_covers_nothing() -> None:
    """Hands equally loud, both uneven: the difference of medians is chance and is called level."""
    piece = piece_of(LINE, BASS)
    analysis = analysis_of(statements=(statement_of(piece, *(f"r{n}" for n in range(6))),))
    judged = set()
    for seed in range(20):
        keys = play(piece)
        for key, velocity in zip(keys, np.random.default_rng(seed).normal(64, 8, len(keys)), strict=True):
            key.velocity = int(velocity)
        found = balance(heard_from(piece, keys), analysis)
        judged |= {row["balance"] for row in rows(found["subject"])}
    assert judged == {"level"}


def test_an_instrument_without_touch_has_no_balance() -> None:
    """Every key with the same velocity: the figure is not made up."""
    piece = piece_of(LINE, BASS)
    found = balance(heard_from(piece, play(piece, velocity=lambda _: 64)), analysis_of())
    assert found["value"] is None
    assert "same loudness" in str(found["reason"])
