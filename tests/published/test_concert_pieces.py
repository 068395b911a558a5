"""Concert pieces played with expression: no worse than the best general-purpose aligner (see concert_pieces.py).

The expression is simulated: a tempo that wanders and gives way at the end of phrases, rolled chords, a melody that
leads (common practice, no source; Goebl 2001 measured leads of about 30 ms), and a slip now and then.
"""

from __future__ import annotations

import pytest

from counterpane.listening.alignment import align
from counterpane.listening.events import performance_from_raw
from counterpane.model.practice import Passage
from demo.simulation import FAULT_KINDS, simulate
from demo.simulation.scoring import agreement
from tests.published.concert_pieces import FILES, concert_piece
from tests.published.general_aligner import as_alignment, performance_array, reference_pairs, score_array


@pytest.mark.parametrize("file", FILES)
def test_no_worse_than_the_general_purpose_aligner(file: str) -> None:
    """F1 of pairs of keys and written notes, in one performance of the whole piece."""
    piece = concert_piece(file)
    passage = Passage(piece.measures[0].number, piece.measures[-1].number, "both", piece.tempo or 90.0)
    session = simulate(piece, passage, 1, FAULT_KINDS["concert"])
    performance = performance_from_raw(session.raw)
    ours = agreement(session, align(piece, passage, performance)).f1
    pairs = reference_pairs(score_array(piece), performance_array(performance))
    assert ours >= 0.997
    assert ours >= agreement(session, as_alignment(pairs, performance)).f1
