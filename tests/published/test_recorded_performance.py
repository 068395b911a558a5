"""A concert recording and its alignment: no worse than the best general-purpose aligner (see recording.py)."""

from __future__ import annotations

import pytest

from counterpane.listening.alignment import align
from counterpane.model.practice import Passage
from tests.published.general_aligner import reference_pairs
from tests.published.recording import Recording, f1, load_recording


@pytest.fixture(scope="module")
def recording() -> Recording:
    return load_recording()


def our_pairs(recording: Recording) -> set[tuple[str, str]]:
    piece = recording.piece
    alignment = align(piece, Passage(1, piece.measures[-1].number, "both", 120.0), recording.performance)
    return {
        (event.note, recording.ids[event.event])
        for event in alignment.events
        if event.note is not None and event.status in ("as_written", "abandoned")
    }


def test_every_recorded_note_finds_its_written_one(recording: Recording) -> None:
    """218 written notes, one inserted key; pairs as aligned by hand."""
    assert len(recording.pairs) == 218
    assert f1(our_pairs(recording), recording.pairs) >= 0.997


def test_no_worse_than_the_general_purpose_aligner(recording: Recording) -> None:
    """The same recording, the same truth, in one run."""
    theirs = reference_pairs(recording.score_array, recording.performance_array)
    assert f1(our_pairs(recording), recording.pairs) >= f1(theirs, recording.pairs)
