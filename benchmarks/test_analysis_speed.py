"""What the analysis costs at 250 to 20,000 notes, and against music21 for the nearest thing to the same answer.

The piece is two-part counterpoint with planted sequences (seeded), read already; the cost is that of `analyse`.
Since nothing in it returns as a subject does, J. S. Bach's Invention BWV 772 is measured as well, alone and played
11 and 44 times over, with its hundreds of statements and sections.
The reference is the simplest use of music21 for keys and returns of the subject: `analyze("key")` on every measure
and `search.rhythmicSearch` for the subject's rhythm in each part, on the same notes made into a music21 score
beforehand. It answers less than `analyse` does.
"""

from __future__ import annotations

import time
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

import pytest
from music21 import key, meter, note, search, stream
from pytest_benchmark.fixture import BenchmarkFixture

from counterpane.analysis import analyse
from counterpane.model.piece import Piece
from counterpane.score import read_score
from counterpane.units import pitch_name
from tests.analysis.planted_sequences import Draft, add_free, add_sequence

SIZES = (250, 500, 1_000, 5_000, 20_000)
SUBJECT_NOTES = 8
INVENTION = Path(__file__).parents[1] / "tests" / "published" / "scores" / "bwv772.krn"


@cache
def piece_of(size: int) -> Piece:
    """Return a piece of about `size` notes, one planted sequence to three measures of free counterpoint."""
    draft = Draft(Random(11), (4, 4), 0)
    while sum(len(tones) for tones in draft.hands.values()) < size:
        add_free(draft, 3 * draft.measure)
        add_sequence(draft)
        add_free(draft, -draft.now % draft.measure)
    return draft.piece()


@pytest.mark.parametrize("size", SIZES)
def test_analysis(benchmark: BenchmarkFixture, size: int) -> None:
    """The whole analysis of a piece that has been read."""
    piece = piece_of(size)
    benchmark.extra_info["notes"] = len(piece.notes)
    analysis = benchmark.pedantic(analyse, args=(piece,), rounds=5 if size <= 1_000 else 1, warmup_rounds=1)
    assert len(analysis.keys) == len(piece.measures)


def invention(times: int) -> Piece:
    """Return BWV 772 so many times over, as one piece."""
    once = read_score(INVENTION).piece
    count = len(once.measures)
    return replace(
        once,
        measures=tuple(
            replace(
                measure,
                id=f"{measure.id}-{time}",
                index=measure.index + time * count,
                number=measure.number + time * count,
                onset=measure.onset + time * once.end,
            )
            for time in range(times)
            for measure in once.measures
        ),
        notes=tuple(
            replace(written, id=f"{written.id}-{time}", onset=written.onset + time * once.end, heads=())
            for time in range(times)
            for written in once.notes
        ),
        graces=(),
    )


@pytest.mark.parametrize("times", [1, 11, 44])
def test_analysis_of_an_invention(benchmark: BenchmarkFixture, times: int) -> None:
    """The whole analysis of a piece made of its subject."""
    piece = invention(times)
    benchmark.extra_info["notes"] = len(piece.notes)
    analysis = benchmark.pedantic(analyse, args=(piece,), rounds=5 if times == 1 else 1, warmup_rounds=1)
    assert len(analysis.statements) >= 20 * times


def test_ratio_to_music21(benchmark: BenchmarkFixture) -> None:
    """How many times longer music21 takes at 500 notes for keys by measure and returns of a rhythm."""
    piece = piece_of(500)
    score = music21_score(piece)
    started = time.perf_counter()
    keys = simplest_answer(score)
    reference = time.perf_counter() - started
    benchmark.pedantic(analyse, args=(piece,), rounds=5, warmup_rounds=1)
    benchmark.extra_info["music21_seconds"] = round(reference, 3)
    if benchmark.stats is not None:  # pytest-benchmark can be told not to measure
        benchmark.extra_info["ratio"] = round(reference / benchmark.stats.stats.min, 1)
    assert len(keys) == len(piece.measures)


def music21_score(piece: Piece) -> stream.Score:
    """Return the piece as music21 has it: a part a hand, in measures."""
    score = stream.Score()
    for hand in ("right", "left"):
        part = stream.Part()
        part.append(meter.TimeSignature(piece.meter))
        for written in piece.notes:
            if written.hand == hand:
                name = pitch_name(written.pitch).replace("b", "-")
                part.insert(float(written.onset), note.Note(name, quarterLength=float(written.duration)))
        score.insert(0, part.makeMeasures())
    return score


def simplest_answer(score: stream.Score) -> list[key.Key]:
    """Return the key of every measure, and look for the subject's rhythm in every part."""
    lines = [part.flatten().notesAndRests.stream() for part in score.parts]
    subject = stream.Stream(lines[0][:SUBJECT_NOTES])
    for line in lines:
        search.rhythmicSearch(line, subject)
    numbers = [measure.number for measure in score.parts[0].getElementsByClass(stream.Measure)]
    return [score.measure(number).analyze("key") for number in numbers]
