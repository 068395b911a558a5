"""What a figure tells: bits under a model of the piece's habits, and how seldom chance makes a statement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from counterpane.analysis.null_model import null_model_of
from counterpane.analysis.statements import find_statements
from counterpane.analysis.steps import lines_of
from tests.analysis.compositions import compose, compose_without_subject
from tests.analysis.written_music import music

SCALES = music("C5:1/4 D5 E5 F5 G5 F5 E5 D5 " * 8, "C3:1/4 D3 E3 F3 G3 F3 E3 D3 " * 8)


def bits(steps: list[int], onsets: list[int]) -> list[float]:
    model = null_model_of(lines_of(SCALES))
    return [float(bit) for bit in model.information(np.array(steps), np.array(onsets))]


def test_the_first_note_tells_nothing() -> None:
    assert bits([0, 1, 2], [0, 1, 2])[0] == 0.0


def test_a_scale_among_scales_tells_less_than_a_leap() -> None:
    scale = sum(bits([0, 1, 2, 3], [0, 1, 2, 3]))
    leap = sum(bits([0, 1, 5, 6], [0, 1, 2, 3]))
    assert scale < 0.5 * leap


def test_an_upright_figure_and_its_inversion_tell_the_same() -> None:
    assert bits([0, 2, 1, 4], [0, 1, 2, 4]) == pytest.approx(bits([0, -2, -1, -4], [0, 1, 2, 4]))


def test_a_new_value_tells_more_than_an_even_pace() -> None:
    assert sum(bits([0, 1, 2], [0, 1, 5])) > sum(bits([0, 1, 2], [0, 1, 2]))


def test_what_is_stated_is_no_habit() -> None:
    """Leaving the scales out of the count makes them tell more."""
    lines = lines_of(SCALES)
    steps, onsets = np.array([0, 1, 2, 3]), np.array([0, 1, 2, 3])
    everything = np.ones(len(lines.joined), dtype=np.bool_)
    counted = null_model_of(lines).information(steps, onsets).sum()
    left_out = null_model_of(lines, everything).information(steps, onsets).sum()
    assert left_out > counted + 2


def test_chance_makes_fewer_than_one_statement_in_a_thousand_notes() -> None:
    """The null experiment behind the least length of a shortened statement: subjects looked for in other pieces.

    Each subject is put before free counterpoint that was composed without it; every statement
    found there is chance.
    """
    notes = found = 0
    for seed in range(40):
        own = compose(6000 + seed)
        free = compose_without_subject(7000 + seed)
        subject_notes = tuple(own.piece.by_id[id_] for id_ in own.subject.notes)
        after = 8 * own.piece.measures[0].length
        later = tuple(replace(note, id=f"free-{note.id}", onset=note.onset + after) for note in free.notes)
        statements = find_statements(replace(own.piece, notes=subject_notes + later), own.subject)
        notes += len(later)
        found += sum(one.notes[0].startswith("free-") for one in statements)
    assert notes > 10_000
    assert found / notes < 1 / 1000
