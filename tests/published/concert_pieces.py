"""Piano pieces of the nineteenth century with thick chords, as music21's corpus ships them; nothing is kept here.

F. Chopin, Mazurka op. 6 no. 2; C. Wieck-Schumann, Polonaises op. 1 nos. 1 to 4; S. Joplin, Maple Leaf Rag (1899).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import music21

from counterpane.model.piece import Piece
from counterpane.score import read_score

FILES = (
    "chopin/mazurka06-2.krn",
    "schumann_clara/polonaise_op1n1.mxl",
    "schumann_clara/polonaise_op1n2.mxl",
    "schumann_clara/polonaise_op1n3.mxl",
    "schumann_clara/polonaise_op1n4.mxl",
    "joplin/maple_leaf_rag.mxl",
)


@cache
def concert_piece(file: str) -> Piece:
    """Read one of the files from the installed package."""
    return read_score(Path(music21.__file__).parent / "corpus" / file).piece
