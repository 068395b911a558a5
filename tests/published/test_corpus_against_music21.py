"""Real scores read by two independent readers: ours (verovio and our own walk) and music21's own MusicXML parser.

The scores are those that music21 ships: J. S. Bach's four-part chorales (BWV 253-399), BWV 846, W. A. Mozart,
K. 545, S. Joplin and C. Schumann. Compared are the onset and MIDI number of all sounding notes, ties joined by
each reader in its own way.
"""

from __future__ import annotations

import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
import pytest

from counterpane.score import engrave, read_score

CORPUS = Path(music21.__file__).parent / "corpus"
CHORALES = sorted((CORPUS / "bach").glob("bwv[23]??.mxl"))[::7]
"""Every seventh of the chorales BWV 253 to 399, four parts each."""
KEYBOARD = [
    CORPUS / name
    for name in ("bach/bwv846.mxl", "mozart/k545/movement1_exposition.mxl", "joplin/maple_leaf_rag.mxl",
                 "schumann_clara/polonaise_op1n2.mxl")
]  # fmt: skip


def _theirs(path: Path) -> Counter[tuple[Fraction, int]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # music21 reports odd encodings as warnings
        score = music21.converter.parse(path, forceSource=True).stripTies()
    return Counter(
        (Fraction(note.getOffsetInHierarchy(score)).limit_denominator(960), pitch.midi)
        for note in score.recurse().notes
        if not note.duration.isGrace and "ChordSymbol" not in note.classes
        for pitch in note.pitches
    )


def _short(path: Path) -> str:
    return path.stem


def test_the_sample_is_wide() -> None:
    """Chorales taken evenly from all of them."""
    assert len(CHORALES) >= 15


@pytest.mark.parametrize("path", CHORALES, ids=_short)
def test_chorales_have_the_notes_that_music21_reads(path: Path) -> None:
    """The same onsets and pitches; four voices, given to the hands."""
    piece = read_score(path).piece
    assert _theirs(path) == Counter((note.onset, note.midi) for note in piece.notes)
    assert piece.hands_guessed
    assert {1: "right", 4: "left"}.items() <= {note.voice: note.hand for note in piece.notes}.items()


@pytest.mark.parametrize("path", KEYBOARD, ids=_short)
def test_keyboard_pieces_have_the_notes_that_music21_reads(path: Path) -> None:
    """At most one onset in a hundred differs: music21 joins ties between voices otherwise than we do."""
    piece = read_score(path).piece
    ours = Counter((note.onset, note.midi) for note in piece.notes)
    theirs = _theirs(path)
    assert (ours - theirs).total() + (theirs - ours).total() <= len(piece.notes) / 100
    assert {"right", "left"} == {note.hand for note in piece.notes}


@pytest.mark.parametrize("path", [*CHORALES[:3], *KEYBOARD[:2]], ids=_short)
def test_every_notehead_of_a_real_score_is_in_its_engraving(path: Path) -> None:
    """The ids of the piece are in the SVG."""
    document = read_score(path)
    svg = "".join(engrave(document).svgs)
    assert all(f'id="{head}"' in svg for note in document.piece.notes for head in note.heads)
