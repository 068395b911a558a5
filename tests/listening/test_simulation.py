"""The simulated student does what the settings say, and keeps an honest account of it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from statistics import mean, pstdev

import pytest

from counterpane.listening.events import performance_from_raw
from counterpane.listening.midi_file import read_performance
from counterpane.model.practice import Passage
from demo.simulation import FAULT_KINDS, Faults, Session, simulate
from tests.listening.composer import compose
from tests.listening.scenes import written

PIECE = compose(7, 16)
PASSAGE = Passage(1, 16, "both", 80.0)


def session(faults: Faults, seed: int = 1) -> Session:
    return simulate(PIECE, PASSAGE, seed, faults)


def onsets(played: Session) -> list[float]:
    return [note.onset_ms for note in performance_from_raw(played.raw).notes]


STRICT = Faults(jitter_ms=0, asynchrony_ms=0, asynchrony_sd_ms=0, chord_spread_ms=0)


def test_one_seed_is_one_session() -> None:
    """The same seed gives the same events and truth; another seed gives others."""
    assert session(FAULT_KINDS["hard mix"]) == session(FAULT_KINDS["hard mix"])
    assert session(FAULT_KINDS["hard mix"]).raw != session(FAULT_KINDS["hard mix"], 2).raw


@pytest.mark.parametrize("kind", FAULT_KINDS)
def test_the_truth_fits_the_events(kind: str) -> None:
    """One truth an event, in the order of the events; a key said to be as written is the written key."""
    played = session(FAULT_KINDS[kind])
    notes = performance_from_raw(played.raw).notes
    assert [truth.event for truth in played.events] == [note.event for note in notes]
    for truth, note in zip(played.events, notes, strict=True):
        if truth.status in ("as_written", "abandoned") and not truth.ornament:
            assert truth.note is not None
            assert PIECE.by_id[truth.note].midi == note.midi
        assert (truth.note is None) == (truth.status == "added")


def test_a_clean_session_plays_every_note_once() -> None:
    """Without faults every written note is struck, once, in order (a unison of both hands once for both)."""
    played = session(STRICT)
    struck = Counter(note for truth in played.events for note in (truth.note, *truth.others))
    assert set(struck) == {note.id for note in PIECE.notes}
    assert set(struck.values()) == {1}
    assert played.faults == ()


@pytest.mark.parametrize("sd", [5.0, 20.0, 60.0])
def test_jitter_has_the_given_spread(sd: float) -> None:
    """The standard deviation of onsets about the beat is the one that was asked for."""
    deviations = []
    for seed in range(4):
        played = session(replace(STRICT, jitter_ms=sd), seed)
        by_note = {truth.note: time for truth, time in zip(played.events, onsets(played), strict=True)}
        exact = {note.id: 500.0 + float(note.onset) * 750.0 for note in PIECE.notes}
        deviations += [time - exact[note] for note, time in by_note.items() if note]
    assert pstdev(deviations) == pytest.approx(sd, rel=0.08)


def test_asynchrony_has_the_given_mean() -> None:
    """The left hand comes after the right by the given mean where both strike together."""
    played = session(Faults(jitter_ms=0, asynchrony_ms=30, asynchrony_sd_ms=10, chord_spread_ms=0))
    by_note = {truth.note: time for truth, time in zip(played.events, onsets(played), strict=True)}
    right = {note.onset: by_note[note.id] for note in PIECE.notes if note.hand == "right"}
    lags = [
        by_note[note.id] - right[note.onset]
        for note in PIECE.notes
        if note.hand == "left" and note.onset in right and note.id in by_note
    ]
    assert mean(lags) == pytest.approx(30, abs=4)


def test_a_free_tempo_gives_way_at_the_end_of_a_phrase() -> None:
    """With rubato the fourth measure of each phrase takes longest; without it all take the same time."""
    steady, free = (onsets_of_measures(replace(STRICT, rubato=rubato)) for rubato in (0.0, 0.1))
    assert len({round(following - start) for start, following in pairwise(steady)}) == 1
    lengths = [following - start for start, following in pairwise(free)]
    assert mean(lengths[3::4]) > 1.05 * mean(lengths[1::4])


def onsets_of_measures(faults: Faults) -> list[float]:
    """Return when each measure of the piece begins, on average over some seeds, in milliseconds."""
    starts = {measure.onset: measure.index for measure in PIECE.measures}
    first = {starts[note.onset]: note.id for note in reversed(PIECE.notes) if note.onset in starts}
    sums = dict.fromkeys(sorted(first), 0.0)
    for seed in range(8):
        played = session(faults, seed)
        times = {truth.note: time for truth, time in zip(played.events, onsets(played), strict=True)}
        for index, note in first.items():
            sums[index] += times[note] / 8
    return list(sums.values())


def test_rolled_chords_go_up_and_are_over_before_the_next_onset() -> None:
    """Each note of a chord comes after the one below it."""
    piece = written("C5+E5+G5 D5+F5+A5 E5+G5+B5 C5+E5+G5", "C3 D3 E3 C3")
    played = simulate(piece, Passage(1, 1, "both", 80.0), 1, replace(STRICT, rolled=1.0))
    notes = [piece.by_id[str(truth.note)] for truth in played.events]
    assert notes == sorted(piece.notes, key=lambda note: (note.onset, note.midi))
    assert all(20.0 <= later - earlier <= 100.0 for earlier, later in pairwise(onsets(played)[:4]))


def test_a_melody_leads() -> None:
    """The highest of the notes struck together comes first, by about what was asked for."""
    piece = written("C5 D5 E5 F5 G5 A5 B5 C6", "C3 D3 E3 F3 G3 A3 B3 C4")
    leads = []
    for seed in range(8):
        played = simulate(piece, Passage(1, 1, "both", 80.0), seed, replace(STRICT, lead_ms=30.0))
        times = {truth.note: time for truth, time in zip(played.events, onsets(played), strict=True)}
        leads += [times[f"l{place}"] - times[f"r{place}"] for place in range(8)]
    assert min(leads) >= 0.0
    assert mean(leads) == pytest.approx(35.0, abs=8.0)  # of |N(30, 30)|


@pytest.mark.parametrize(
    ("kind", "fault"),
    [
        ("wrong", "wrong"),
        ("corrected", "corrected"),
        ("missed", "missed"),
        ("added", "added"),
        ("hesitating", "hesitation"),
        ("restarts", "restart"),
        ("repeats", "repeated measure"),
        ("going back", "going back"),
        ("skips", "skip"),
        ("early stop", "early stop"),
    ],
)
def test_faults_are_listed(kind: str, fault: str) -> None:
    """What goes wrong is on record, by kind, with the event where it shows if a key was struck."""
    found = [listed for seed in range(4) for listed in session(FAULT_KINDS[kind], seed).faults]
    assert fault in {listed.kind for listed in found}
    for listed in found:
        assert (listed.event is None) == (listed.kind not in ("wrong", "corrected", "added", "brushed"))


def test_a_session_written_as_midi_reads_back(tmp_path: Path) -> None:
    """The file holds the same keys in the same order, to the millisecond."""
    played = session(FAULT_KINDS["mixed"])
    played.write_midi(tmp_path / "session.mid")
    there, back = performance_from_raw(played.raw).notes, read_performance(tmp_path / "session.mid").notes
    assert sorted(note.midi for note in there) == sorted(note.midi for note in back)
    assert [note.onset_ms for note in back] == pytest.approx([note.onset_ms for note in there], abs=1.0)
