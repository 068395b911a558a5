"""The keys of a performance as the aligner hears them: which, when, and for how long."""

from __future__ import annotations

from counterpane.listening.alignment.struck_keys import StruckKeys, read_struck_keys
from counterpane.model.performance import Performance, PlayedNote


def test_a_key_that_was_never_let_go_was_held_for_no_known_time() -> None:
    """Onsets and releases of 500 to 900 ms and of 700 ms to never."""
    notes = (PlayedNote(0, 500.0, 900.0, 60, 64), PlayedNote(1, 700.0, None, 64, 64))
    assert read_struck_keys(Performance(notes)) == StruckKeys([60, 64], [500.0, 700.0], [400.0, None])


def test_a_release_that_only_the_next_stroke_shows_is_not_known() -> None:
    """C4 at 0 ms was let go, as far as anybody knows, by being struck again at 500 ms."""
    notes = (PlayedNote(0, 0.0, 500.0, 60, 64), PlayedNote(1, 500.0, 800.0, 60, 64))
    assert read_struck_keys(Performance(notes)).held_ms == [None, 300.0]


def test_what_is_struck_at_other_times_keeps_its_key_and_its_length() -> None:
    """The left hand's 48 came 300 ms behind the right hand's 72 and 74; without that it is the first of all."""
    struck = StruckKeys([72, 74, 48], [0.0, 250.0, 290.0], [240.0, 200.0, None])
    moved, order = struck.struck_at([0.0, 250.0, -10.0])
    assert moved == StruckKeys([48, 72, 74], [-10.0, 0.0, 250.0], [None, 240.0, 200.0])
    assert order == [2, 0, 1]


def test_a_transposed_piano_sounds_every_key_so_much_higher() -> None:
    """Times and lengths stay."""
    struck = StruckKeys([60, 64], [0.0, 500.0], [400.0, None])
    assert struck.transposed_by(-2) == StruckKeys([58, 62], [0.0, 500.0], [400.0, None])
    assert struck.first(1) == StruckKeys([60], [0.0], [400.0])
