"""Errors say where and what, and their tree is complete."""

from __future__ import annotations

import inspect
import re

import pytest

from counterpane import errors

_CLASSES = {
    name: found
    for name, found in vars(errors).items()
    if inspect.isclass(found) and issubclass(found, errors.CounterpaneError)
}


def test_every_error_stands_in_the_tree_of_the_module_docstring() -> None:
    """A newcomer who reads the docstring has seen every error there is."""
    drawn = set(re.findall(r"^(?:[│├└─ ]*[├└]── )?([A-Z]\w+)(?=$|  )", errors.__doc__ or "", re.MULTILINE))
    assert drawn == set(_CLASSES)


@pytest.mark.parametrize(
    ("file", "measure", "hand", "expected"),
    [
        (None, None, None, "the note has no length."),
        ("a.musicxml", None, None, "a.musicxml: the note has no length."),
        (None, 0, None, "measure 0: the note has no length."),
        ("a.krn", 3, "left", "a.krn, measure 3, left hand: the note has no length."),
    ],
)
def test_an_error_reads_as_one_sentence_that_begins_with_the_place(
    file: str | None, measure: int | None, hand: str | None, expected: str
) -> None:
    """File, measure and hand come first, where they are known; measure 0 (a pickup) is a place too."""
    error = errors.ScoreError("the note has no length.", file=file, measure=measure, hand=hand)
    assert str(error) == expected
