"""How fast scores are read: a ratio to music21 in the same run, and growth from 2,000 to 20,000 notes.

Run with `pytest benchmarks/test_score_benchmark.py`; pytest-benchmark prints the times.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from pathlib import Path

import music21
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from counterpane.score import engrave, read_score, read_score_bytes

PRELUDE = Path(music21.__file__).parent / "corpus/bach/bwv846.mxl"


def keyboard_score(count: int, seed: int = 1) -> bytes:
    """Return MusicXML with `count` sixteenths in two staves, 32 a measure."""
    rng = random.Random(seed)
    note = (
        "<note><pitch><step>{}</step><octave>{}</octave></pitch><duration>1</duration><voice>{}</voice>"
        "<type>16th</type><staff>{}</staff></note>"
    )
    first = "<attributes><divisions>4</divisions><staves>2</staves></attributes>"
    measures = []
    for number in range(1, count // 32 + 1):
        right = "".join(note.format(rng.choice("CDEFGAB"), 5, 1, 1) for _ in range(16))
        left = "".join(note.format(rng.choice("CDEFGAB"), 3, 5, 2) for _ in range(16))
        back = "<backup><duration>16</duration></backup>"
        measures.append(f'<measure number="{number}">{first if number == 1 else ""}{right}{back}{left}</measure>')
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part>'
        f'</part-list><part id="P1">{"".join(measures)}</part></score-partwise>'
    ).encode()


def _seconds(call: Callable[[], object], times: int = 3, clock: Callable[[], float] = time.perf_counter) -> float:
    best = float("inf")
    for _ in range(times):
        start = clock()
        call()
        best = min(best, clock() - start)
    return best


@pytest.fixture(scope="module", autouse=True)
def _started() -> None:
    read_score(PRELUDE)  # the first reading starts verovio's process


def test_reading_a_prelude(benchmark: BenchmarkFixture) -> None:
    """533 notes of BWV 846; no more than three times what music21 takes for its parse alone."""
    benchmark(lambda: read_score(PRELUDE))
    theirs = _seconds(lambda: music21.converter.parse(PRELUDE, forceSource=True))
    assert _seconds(lambda: read_score(PRELUDE)) < 3 * theirs


def test_engraving_four_measures(benchmark: BenchmarkFixture) -> None:
    """What the page asks for most."""
    document = read_score(PRELUDE)
    benchmark(lambda: engrave(document, 5, 8))


def test_reading_grows_with_the_length_of_the_piece() -> None:
    """Ten times the notes take at most twenty times the processor time of our own part."""
    short, long = keyboard_score(2_000), keyboard_score(20_000)
    small = _seconds(lambda: read_score_bytes(short, "short.musicxml"), clock=time.process_time)
    assert _seconds(lambda: read_score_bytes(long, "long.musicxml"), 1, time.process_time) < 20 * small
