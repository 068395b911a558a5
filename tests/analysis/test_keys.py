"""The key of a piece and of its measures: relatives and parallels, change of key, odd signatures."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.analysis.key_names import ALL_KEYS, Key, fifth_name, key_from_name
from counterpane.analysis.keys import find_keys
from counterpane.model.piece import Piece
from tests.analysis.written import piece

MAJOR = (0, 4, 7, 5, 9, 7, 11, 2, 7, 5, 4, 2, 11, 0)
MINOR = (0, 3, 7, 5, 8, 7, 11, 2, 7, 5, 3, 2, 11, 0)
# Fifths from the tonic of the degrees above, by semitones.
SPELLED = {0: 0, 2: 2, 3: -3, 4: 4, 5: -1, 7: 1, 8: -4, 9: 3, 11: 5}


def tune(key: Key, fifths: int | None) -> Piece:
    """Return a tune in a key, over its tonic and dominant."""
    degrees = MAJOR if key.mode == "major" else MINOR
    right = " ".join(f"{fifth_name(key.fifth + SPELLED[degree])}5:1/2" for degree in degrees)
    tonic, dominant = fifth_name(key.fifth), fifth_name(key.fifth + 1)
    return piece(f"{right} {tonic}5:1", f"{tonic}3:2 {dominant}3:2 {dominant}3:2 {tonic}3:2", fifths=fifths)


@pytest.mark.parametrize("key", ALL_KEYS, ids=lambda key: key.name)
def test_every_key_is_recognised_with_its_signature(key: Key) -> None:
    """A tune with its leading tone is in its key, not in the relative that has the same signature."""
    name, keys = find_keys(tune(key, key.signature))
    assert name == key.name
    assert {k.key for k in keys} == {key.name}


@pytest.mark.parametrize("key", ALL_KEYS, ids=lambda key: key.name)
def test_every_key_is_recognised_without_a_signature(key: Key) -> None:
    """Where a file says nothing, the notes do."""
    assert find_keys(tune(key, None))[0] == key.name


def test_a_minor_key_is_told_from_its_parallel() -> None:
    """The third and the sixth tell C minor from C major under the same signature."""
    assert find_keys(tune(Key(0, "minor"), 0))[0] == "C minor"
    assert find_keys(tune(Key(0, "major"), 0))[0] == "C major"


def test_a_last_chord_in_major_does_not_make_a_minor_piece_major() -> None:
    """A raised third at the end leaves the piece in minor."""
    written = piece(
        "A4:1 B4:1 C5:1 D5:1 E5:2 D5:1 C5:1 B4:1 A4:1 G#4:1 B4:1 A4+C#5:4",
        "A3:2 E3:2 C3:2 F3:2 E3:4 A2:4",
    )
    assert find_keys(written)[0] == "A minor"


def test_a_piece_said_to_be_in_minor_stays_so_when_it_stops_in_the_dominant() -> None:
    """An exposition that breaks off in the answer's key is in the key that its score names."""
    tonic = "G4:1 A4:1 Bb4:1 F#4:1 G4:2 D4:2"
    dominant = "D5:1 E5:1 F5:1 C#5:1 D5:2 A4:2 D5:1 C#5:1 D5:2"
    written = piece(
        f"{tonic} {tonic} {dominant}", "G3:4 D3:2 G2:2 G3:4 D3:2 G2:2 D3:4 A2:2 F3:2 A2:2 D3:2", fifths=-2
    )
    said = replace(written, key_signatures=(replace(written.key_signatures[0], mode="minor"),))
    assert find_keys(said)[0] == "G minor"


def test_a_change_of_key_is_heard_by_measure() -> None:
    """Two measures of G major with its leading tone stand between C major."""
    c = "C5:1 E5:1 F5:1 G5:1 F5:1 D5:1 B4:1 C5:1"
    g = "B4:1 D5:1 F#5:1 G5:1 A5:1 F#5:1 D5:1 G5:1"
    left_c, left_g = "C3:2 F3:2 G3:2 C3:2", "G3:2 D3:2 D3:2 G3:2"
    keys = find_keys(piece(f"{c} {g} {g} {c}", f"{left_c} {left_g} {left_g} {left_c}"))[1]
    assert [k.key for k in keys] == ["C major"] * 2 + ["G major"] * 4 + ["C major"] * 2


def test_confidence_is_lower_where_the_key_changes() -> None:
    """A measure that belongs to two keys is less sure than one in the middle of its key."""
    c = "C5:1 E5:1 F5:1 G5:1 F5:1 D5:1 B4:1 C5:1"
    g = "B4:1 D5:1 F#5:1 G5:1 A5:1 F#5:1 D5:1 G5:1"
    keys = find_keys(piece(f"{c} {g}", "C3:2 F3:2 G3:2 C3:2 G3:2 D3:2 D3:2 G3:2"))[1]
    assert min(k.confidence for k in keys[1:3]) < keys[0].confidence


@given(st.sampled_from(ALL_KEYS))
def test_names_are_read_back(key: Key) -> None:
    """A key's name gives the key again."""
    assert key_from_name(key.name) == key


def test_a_pickup_belongs_to_the_first_key() -> None:
    """An upbeat has a key of its own entry, with the number that is printed."""
    keys = find_keys(piece("G4:1 C5:1 E5:1 D5:1 B4:1 C5:4", "r:1 C3:2 G3:2 C3:4", pickup="1"))[1]
    assert [(k.measure, k.key) for k in keys] == [(0, "C major"), (1, "C major"), (2, "C major")]
