"""The general-purpose aligner that ours is measured beside: the dual-DTW matcher of `parangonar`."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from counterpane.model.assessment import Alignment, EventResult
from counterpane.model.performance import Performance, PlayedNote
from counterpane.model.piece import Piece


@contextmanager
def quietly() -> Iterator[None]:
    """Keep the reference library's warnings, about optional parts of its own, out of our tests."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


with quietly():
    import parangonar


def score_array(piece: Piece) -> Any:
    rows = [
        (*(float(length) for length in (n.onset, n.duration) * 2), n.midi, n.voice, False, n.id)
        for n in piece.notes
    ]
    kinds = [(name, "f4") for name in ("onset_beat", "duration_beat", "onset_quarter", "duration_quarter")]
    return np.array(rows, dtype=[*kinds, ("pitch", "i4"), ("voice", "i4"), ("is_grace", "?"), ("id", "U64")])


def performance_array(performance: Performance) -> Any:
    rows = [(n.onset_ms / 1000, _seconds_held(n), n.midi, n.velocity, n.event) for n in performance.notes]
    kinds = [("onset_sec", "f4"), ("duration_sec", "f4"), ("pitch", "i4"), ("velocity", "i4"), ("id", "U16")]
    return np.array(rows, dtype=kinds)


def _seconds_held(note: PlayedNote) -> float:
    return 0.2 if note.release_ms is None else max(0.02, (note.release_ms - note.onset_ms) / 1000)


def reference_pairs(score: Any, performance: Any) -> set[tuple[str, str]]:
    """Align two note arrays with the general-purpose aligner; return its pairs of score and performance ids."""
    with quietly():
        found = parangonar.DualDTWNoteMatcher()(score, performance, process_ornaments=False)
    return {(str(p["score_id"]), str(p["performance_id"])) for p in found if p["label"] == "match"}


def as_alignment(pairs: set[tuple[str, str]], performance: Performance) -> Alignment:
    """Say pairs of written notes and events in our own words; every other key was added."""
    note_of = {int(event): note for note, event in pairs}
    events = tuple(
        EventResult(played.event, "as_written", note_of[played.event], 0)
        if played.event in note_of
        else EventResult(played.event, "added", None, 0)
        for played in performance.notes
    )
    return Alignment((), events, ())
