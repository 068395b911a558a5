"""Cadences in two parts, where chords are implied, and in four."""

from __future__ import annotations

from dataclasses import replace

import pytest

from counterpane.analysis.cadences import cadence_name, find_cadences
from counterpane.analysis.keys import find_keys
from counterpane.model.analysis import Cadence
from counterpane.model.piece import Piece
from tests.analysis.written import Voices, piece

OPENING = "C5:1 D5:1 E5:1 F5:1 G5:1 F5:1 E5:1 D5:1"
BASS = "C3:2 C4:2 B3:1 D4:1 C4:1 F3:1"


def cadences(written: Piece) -> tuple[Cadence, ...]:
    return find_cadences(written, find_keys(written)[1])


@pytest.mark.parametrize(
    ("right", "left", "expected"),
    [
        # Dominant to tonic in the bass, leading tone to tonic above, then a long note.
        ("C5:2 B4:2 C5:4", "F3:1 G3:1 G2:2 C3:4", [(4, 1, "C major", "authentic")]),
        # The bass arrives a sixteenth late: the next phrase begins under the last note of the first.
        (
            "C5:1 B4:2 A4:1/2 B4:1/2 C5:2 r:2",
            "F3:1 G3:1 G2:2 r:1/4 C3:1/4 D3:1/4 E3:1/4 F3:1/4 D3:1/4 E3:1/4 C3:1/4 G3:2",
            [(4, 1, "C major", "authentic")],
        ),
        # The same close in the dominant's key, with its own leading tone.
        ("G4:2 F#4:2 G4:4", "C3:1 D3:1 D2:2 G2:4", [(4, 1, "G major", "authentic")]),
        # The leading tone rises, but the bass steps up to the sixth degree.
        ("C5:2 B4:2 C5:4", "F3:1 G3:1 G3:2 A3:4", [(4, 1, "C major", "deceptive")]),
        # The phrase stops on the dominant.
        ("E5:2 D5:1 C5:1 B4:4", "A3:2 F3:1 A3:1 G3:4", [(4, 1, "C major", "half")]),
    ],
)
def test_a_close_in_two_parts(right: str, left: str, expected: list[tuple[int, int, str, str]]) -> None:
    """Place, key and kind of the close that ends a phrase."""
    tail = " C5:4" if expected[0][3] != "authentic" else ""
    found = cadences(piece(f"{OPENING} {right}{tail}", f"{BASS} {left}{' C3:4' if tail else ''}"))
    assert [(c.place.measure, c.place.beat, c.key, c.kind) for c in found][:1] == expected


@pytest.mark.parametrize(
    ("right", "left", "kind"),
    [
        pytest.param("D5:2 B4:3/2 C5:1/2 C5:4", "F3:1 G3:1 G2:2 C3:4", "authentic", id="anticipated tonic"),
        pytest.param("D5:2 B4:3/2 C5:1/2 C5:4", "F3:1 G3:1 G3:2 A3:4", "deceptive", id="anticipated, deceptive"),
        pytest.param("D5:2 C5:1 B4:1 C5:4", "G2:4 C3:4", "authentic", id="held dominant"),
        pytest.param("F4:2 G3:2 C3:4", "D4:2 D4:1 B3:1 C4:4", "authentic", id="voices cross"),
        pytest.param("E5:2 C5:1 B4:1 C5:4", "F3:1 E3:1 D3:2 C3:4", "authentic", id="bass from the second degree"),
    ],
)
def test_closes_in_which_the_dominant_is_not_struck_just_before_the_tonic(
    right: str, left: str, kind: str
) -> None:
    """Common practice, no source: each of these is heard as a close in the fourth measure."""
    tail = ("C5:4", "C3:4") if kind == "deceptive" else ("", "")
    found = cadences(piece(f"{OPENING} {right} {tail[0]}", f"{BASS} {left} {tail[1]}"))
    assert (4, 1, "C major", kind) in [(c.place.measure, c.place.beat, c.key, c.kind) for c in found]


@pytest.mark.parametrize(("third", "key"), [("Eb5", "C minor"), ("E5", "C major")])
def test_a_bare_close_has_the_mode_of_the_third_heard_on_the_way_to_it(third: str, key: str) -> None:
    """Common practice, no source: in B flat, third, second and first over G, G and C close on a bare C."""
    right = (
        f"Bb4:1 D5:1 F5:1 D5:1 Eb5:1 C5:1 D5:2 r:1 F5:1 {third}:1 D5:1 C5:4 D5:1 Eb5:1 F5:1 D5:1 C5:2 A4:2 Bb4:4"
    )
    left = "Bb3:2 A3:1 Bb3:1 C4:1 A3:1 Bb3:2 D3:1 G3:1 G3:1 G2:1 C3:4 Bb3:1 C4:1 D4:1 Bb3:1 F3:2 F2:2 Bb2:4"
    written = piece(right, left, fifths=-2)
    around = tuple(replace(one, key="Bb major") for one in find_keys(written)[1])
    assert [one.key for one in find_cadences(written, around) if one.place.measure == 4] == [key]


def test_a_last_chord_that_goes_on_is_one_cadence() -> None:
    """A broken tonic chord under the last note makes no second cadence."""
    found = cadences(piece(f"{OPENING} C5:2 B4:2 C5:4", f"{BASS} F3:1 G3:1 G2:2 C3:1 G2:1 C3:2"))
    assert [(c.place.measure, c.place.beat, c.kind) for c in found] == [(4, 1, "authentic")]


def test_the_fourth_degree_before_the_last_chord_is_a_plagal_close() -> None:
    """IV-I at the end, without a leading tone, is plagal."""
    upper: Voices = ["E5:2 D5:2 C5:2 C5:2 C5:4", "G4:2 G4:2 G4:2 A4:2 G4:4"]
    lower: Voices = ["C4:2 B3:2 E4:2 F4:2 E4:4", "C3:2 G3:2 C3:2 F3:2 C3:4"]
    assert [c.kind for c in cadences(piece(upper, lower))][-1:] == ["plagal"]


def test_dominant_and_tonic_within_a_phrase_are_no_cadence() -> None:
    """Running notes over V and I do not come to rest."""
    right = "C5:1/2 D5:1/2 E5:1/2 F5:1/2 G5:1/2 F5:1/2 E5:1/2 D5:1/2"
    moving = " ".join([right] * 4)
    assert [c.place.measure for c in cadences(piece(f"{moving} C5:4", "C3:2 G3:2 " * 4 + "C3:4"))] == [5]


def test_a_fermata_ends_a_phrase() -> None:
    """Under a fermata even a tonic chord reached by step is a close; it is told with less confidence."""
    right = "E5:1 F5:1 G5:1 E5:1 D5:1 C5:3! E5:1 F5:1 D5:1 B4:1 C5:4!"
    left = "C4:1 A3:1 E3:1 G3:1 B3:1 C4:3! C4:1 A3:1 F3:1 G3:1 C3:4!"
    found = cadences(piece(right, left))
    assert [(c.place.measure, c.place.beat) for c in found] == [(2, 2), (4, 1)]
    assert found[0].confidence < found[1].confidence


def test_a_cadence_names_the_notes_it_rests_on() -> None:
    """The ids of the last chord and of the one before are given, with a sentence."""
    written = piece(f"{OPENING} C5:2 B4:2 C5:4", f"{BASS} F3:1 G3:1 G2:2 C3:4")
    (found,) = cadences(written)
    assert {written.by_id[note].pitch.step for note in found.notes} == {"B", "C", "G"}
    assert cadence_name(found) == "an authentic cadence in C major"
    assert found.reason.startswith("The bass goes from the dominant to the tonic")


@pytest.mark.parametrize("left", ["", "C3:4 C3:4"])
def test_one_part_alone_has_no_cadence_without_harmony(left: str) -> None:
    """A single line, or a drone, gives no dominant to believe in."""
    assert cadences(piece("C5:1 D5:1 E5:1 F5:1 G5:1 F5:1 E5:1 D5:1", left)) == ()
