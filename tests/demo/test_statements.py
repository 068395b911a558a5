"""The analysis finds what the composer of the demo pieces put into them."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path

import pytest

from counterpane.analysis import analyse
from counterpane.analysis.statements import find_statements
from counterpane.analysis.subject import find_subjects
from counterpane.score import read_score

_PIECES = Path(__file__).parents[2] / "demo" / "pieces"
_MARKED = tomllib.loads((Path(__file__).parent / "statements.toml").read_text(encoding="utf-8"))


def _key(form: str, text: str) -> tuple[str, str, int, Fraction]:
    hand, place = text.split()
    measure, beat = place.split(":")
    return form, hand, int(measure), Fraction(beat)


@pytest.mark.parametrize("name", sorted(_MARKED))
def test_the_subject_begins_with_the_piece_and_its_statements_are_the_composers(name: str) -> None:
    """F1 of at least 0.95 against the marks, without being told the subject."""
    piece = read_score(_PIECES / f"{name}.musicxml").piece
    subject = find_subjects(piece)[0]
    marked = {_key(form, text) for form, texts in _MARKED[name].items() for text in texts}
    found = {(s.form, s.hand, s.start.measure, s.start.beat) for s in find_statements(piece, subject)}
    hits = len(marked & found)
    assert (subject.hand, subject.start.measure, subject.start.beat) == ("right", 1, 1)
    assert 2 * hits / (len(marked) + len(found)) >= 0.95, (sorted(found - marked), sorted(marked - found))


def test_a_section_in_two_keys_is_named_by_the_one_it_begins_in() -> None:
    """Subject in D minor, answer in A minor, a measure each: a teacher says that the piece begins in D minor."""
    analysis = analyse(read_score(_PIECES / "patchwork-in-d-minor.musicxml").piece)
    opening = analysis.sections[0]
    keys = [key.key for key in analysis.keys if opening.first_measure <= key.measure <= opening.last_measure]
    assert keys == ["D minor", "A minor"]
    assert opening.key == "D minor"
