"""Looking for a figure: the grid of ticks, the places that votes point to, and the best cover of a line."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import combinations, pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from counterpane.analysis.matching import Figure, seeds
from counterpane.analysis.matching_score import lay
from counterpane.analysis.statements_cover import best_intervals
from counterpane.analysis.steps import lines_of
from tests.analysis.written_music import music

TUNE = "C5:1/2 G5 E5:1/4 F5 D5:1/2"


def figure(*, mirrored: bool = False) -> Figure:
    line = lines_of(music(TUNE)).lines[0]
    return Figure(
        onset=line.onset - line.onset[0],
        step=line.step - line.step[0],
        semitone=line.semitone - line.semitone[0],
        bits=np.array([0.0, 4.0, 4.0, 2.0, 4.0]),
        length=int(line.end[-1]),
        mirrored=mirrored,
    )


def test_every_onset_falls_on_the_grid() -> None:
    lines = lines_of(music("C5:1/3 D5 E5 F5:1/4 G5:3/4", "C3:1/8 D3:15/8"))
    assert lines.ticks_per_quarter == 24
    assert lines.lines[0].onset.tolist() == [0, 8, 16, 24, 30]


def test_a_chord_in_a_voice_is_its_highest_note() -> None:
    piece = music("C5:1 D5", "C3:2")
    chord = replace(piece.notes[0], id="under", pitch=replace(piece.notes[0].pitch, octave=4))
    lines = lines_of(replace(piece, notes=(chord, *piece.notes)))
    assert [note.id for note in lines.lines[0].notes] == ["v1n0", "v1n1"]


def test_a_chord_in_the_left_hand_is_its_lowest_note() -> None:
    """The bass is the line there, unless another voice of that hand lies below."""
    piece = music("C5:2", "C3:1 D3")
    chord = replace(piece.notes[1], id="over", pitch=replace(piece.notes[1].pitch, octave=4))
    lines = lines_of(replace(piece, notes=(*piece.notes[:2], chord, *piece.notes[2:])))
    assert [note.id for note in lines.lines[1].notes] == ["v2n0", "v2n1"]


def test_joined_lines_are_too_far_apart_for_a_figure_to_reach_across() -> None:
    lines = lines_of(music("C5:1 D5 E5 F5", "C3:1 D3 E3 F3"))
    assert lines.joined.gap.max() > 4 * int(lines.lines[0].end.max())
    assert lines.line_of_note == [0] * 4 + [1] * 4
    assert lines.first_of_line == [0] * 4 + [4] * 4


def test_phases_are_counted_within_the_beat_in_every_line() -> None:
    lines = lines_of(music("C5:1/4 D5:1/2 E5:1/4 F5:1", "C3:1/4 D3:1/2 E3:1/4 F3:1"))
    assert lines.phase(lines.joined.onset).tolist() == [0, 1, 3, 0] * 2


def test_votes_point_to_each_transposition_and_to_each_axis() -> None:
    line = lines_of(music(f"{TUNE} r:2 D5:1/2 A5 F5:1/4 G5 E5:1/2 r:2 C5:1/2 F4 A4:1/4 G4 B4:1/2")).lines[0]
    upright, inverted = seeds(figure(), line), seeds(figure(mirrored=True), line)
    assert {(0, 35), (16, 36)} <= set(zip(upright.time.tolist(), upright.shift.tolist(), strict=True))
    assert (32, 35) in set(zip(inverted.time.tolist(), inverted.shift.tolist(), strict=True))


def test_a_figure_laid_on_itself_gains_all_its_bits() -> None:
    line = lines_of(music(TUNE)).lines[0]
    places = seeds(figure(), line)
    laid = lay(figure(), line, places)
    own = places.time.tolist().index(0)
    assert laid.met[own].all()
    assert not laid.edited[own].any()
    assert laid.gain[own].sum() == figure().bits.sum()


SPANS = st.lists(
    st.tuples(st.integers(0, 12), st.integers(1, 6), st.integers(1, 9)).map(
        lambda span: (span[0], span[0] + span[1], float(span[2]))
    ),
    max_size=7,
)


@given(SPANS)
def test_no_other_choice_of_spans_is_worth_more(spans: list[tuple[int, int, float]]) -> None:
    """Against all subsets: spans may share an end note and nothing else."""
    ordered = sorted(spans, key=lambda span: (span[1], span[0]))
    chosen = best_intervals([s[0] for s in ordered], [s[1] for s in ordered], [s[2] for s in ordered])
    best = 0.0
    for size in range(len(ordered) + 1):
        for subset in combinations(ordered, size):
            if all(one[1] <= two[0] for one, two in pairwise(subset)):
                best = max(best, sum(span[2] for span in subset))
    assert sum(ordered[index][2] for index in chosen) == best
    assert all(ordered[one][1] <= ordered[two][0] for one, two in pairwise(chosen))


def test_ticks_are_rounded_where_no_common_grid_is_fine_enough() -> None:
    lines = lines_of(music("C5:1/4096 D5:1/6561 E5:1/2401 F5:1"))
    assert lines.ticks(Fraction(1, 3)) == round(lines.ticks_per_quarter / 3)
