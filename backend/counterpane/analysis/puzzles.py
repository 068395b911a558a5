"""Puzzles: questions about how a piece is made, with an answer that can be checked on the score.

Conventions. A kind that begins with "tap" is answered with one tap in each of `groups` (note heads by id), one
that begins with "count" with a number, one that begins with "choose" with the index of a choice. Levels are 1
(one thing to see or hear), 2 (several things to count or weigh) and 3 (comparing, or knowing terms). The hint
shows notes; the explanation goes with the notes that the answer rests on.

Nothing is asked that the analysis is not sure of (`puzzles_material.SURE`), nor anything with two defensible
answers: a highest note that occurs twice, overlapping sequences, a further half copy beside a sequence,
statements whose first notes coincide. Where the hands of the file were guessed, nothing is asked about hands.
"""

from __future__ import annotations

from counterpane.analysis.puzzles_entries import entry_puzzles
from counterpane.analysis.puzzles_material import Material
from counterpane.analysis.puzzles_places import place_puzzles
from counterpane.analysis.puzzles_sections import section_puzzles
from counterpane.analysis.puzzles_sequences import sequence_puzzles
from counterpane.model.analysis import Analysis, Puzzle
from counterpane.model.piece import Piece
from counterpane.wording import catalogue

KINDS = (
    "tap-entries",
    "count-entries",
    "choose-direction",
    "tap-inverted",
    "count-inverted",
    "choose-leads",
    "choose-answers",
    "choose-more",
    "choose-extent",
    "tap-shortened",
    "tap-highest",
    "choose-sequence",
    "count-sequence",
    "choose-sequence-hands",
    "choose-key",
    "tap-cadence",
    "choose-cadence",
    "choose-change",
    "choose-same",
    "count-more",
)
ABOUT_HANDS = frozenset({"choose-leads", "choose-answers", "choose-more", "choose-sequence-hands", "tap-highest"})


def make_puzzles(piece: Piece, analysis: Analysis, language: str = "en") -> tuple[Puzzle, ...]:
    """Return every puzzle that the analysis surely answers, the easier ones first, then in score order."""
    material = Material(piece, analysis, catalogue("puzzles", language))
    puzzles = [
        *entry_puzzles(material),
        *sequence_puzzles(material),
        *place_puzzles(material),
        *section_puzzles(material),
    ]
    if piece.hands_guessed:
        puzzles = [each for each in puzzles if each.kind not in ABOUT_HANDS]
    return tuple(
        sorted(puzzles, key=lambda each: (each.level, each.first_measure, KINDS.index(each.kind), each.id))
    )
