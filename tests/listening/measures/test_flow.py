"""Hesitations and tempo: pauses told from unevenness, and how fast, how steady, whether it drifts."""

from dataclasses import replace

import pytest

from counterpane.listening.measures.hesitations import hesitations
from counterpane.listening.measures.tempo import tempo
from counterpane.model.assessment import Jump
from counterpane.model.piece import Note
from tests.listening.measures.figures import number, rows
from tests.listening.measures.playing import Key, heard_from, jitter, piece_of, play

EIGHTHS = "C4:1/2 D4:1/2 E4:1/2 F4:1/2 G4:1/2 F4:1/2 E4:1/2 D4:1/2 " * 6
BASS = "C3:2 G3:2 " * 6


def test_a_pause_is_told_with_its_place_and_length() -> None:
    """700 ms before beat 3 of measure 4, at quarter = 60: seven tenths of a quarter, told within 40 ms."""
    piece = piece_of(EIGHTHS, BASS)
    shake = jitter(15, 2)
    keys = play(piece, late_ms=lambda note: shake(note) + (700 if note.onset >= 14 else 0))
    found = hesitations(heard_from(piece, keys))
    assert found["value"] == 1
    (row,) = rows(found["at"])
    assert row["place"] == {"measure": 4, "beat": 3.0, "offset": 14.0}
    assert row["ms"] == pytest.approx(700, abs=40)
    assert row["quarters"] == pytest.approx(0.7, abs=0.05)
    assert row["hands"] == ["right", "left"]


def test_the_limit_follows_the_tempo() -> None:
    """250 ms are a pause among eighths at quarter = 60 and nothing much at quarter = 20."""
    piece = piece_of(EIGHTHS, BASS)
    for quarters, expected in ((60, 1), (20, 0)):
        keys = play(piece, quarters, late_ms=lambda note: 250 if note.onset >= 14 else 0)
        assert hesitations(heard_from(piece, keys))["value"] == expected


def test_unevenness_makes_no_hesitations() -> None:
    """Forty seeds of 40 ms unevenness: not one hesitation is invented."""
    piece = piece_of(EIGHTHS, BASS)
    counts = [hesitations(heard_from(piece, play(piece, 80, late_ms=jitter(40, s))))["value"] for s in range(40)]
    assert counts == [0] * 40


def test_time_after_a_fermata_is_free() -> None:
    """Waiting on a fermata is what it asks for."""
    piece = piece_of(EIGHTHS)
    held = tuple(replace(note, fermata=note.id == "r15") for note in piece.notes)
    piece = replace(piece, notes=held)
    keys = play(piece, late_ms=lambda note: 900 if note.onset >= 8 else 0)
    assert hesitations(heard_from(piece, keys))["value"] == 0


def test_a_rest_cut_short_is_told_apart() -> None:
    """A half rest of which one quarter is missing is a cut, not a hesitation."""
    piece = piece_of(f"{EIGHTHS} r:2 {EIGHTHS}")
    keys = play(piece, late_ms=lambda note: -1000 if note.onset >= 26 else 0)
    found = hesitations(heard_from(piece, keys))
    assert found["value"] == 0
    (row,) = rows(found["cuts"])
    assert row["place"]["offset"] == 26
    assert row["quarters"] == pytest.approx(1, abs=0.05)


def test_a_correction_is_no_hesitation() -> None:
    """A wrong key put right half a second later: the lost time is listed as a correction."""
    piece = piece_of(EIGHTHS)
    keys = play(piece, late_ms=lambda note: 500 if note.onset >= 10 else 0)
    wrong = Key("r20", 1000 + 10_000, 300, 50, status="replacement")
    found = hesitations(heard_from(piece, [*keys, wrong]))
    assert found["value"] == 0
    assert [row["place"]["offset"] for row in rows(found["corrections"])] == [10.5]


def test_the_pause_before_going_back_is_a_stop() -> None:
    """Breaking off in measure 2 and waiting two seconds before beginning again."""
    piece = piece_of(EIGHTHS)
    first = [key for key in play(piece) if piece.by_id[str(key.note)].onset <= 5]
    again = play(piece, start_ms=first[-1].onset_ms + 2000, run=1)
    jump = Jump(
        len(first), "r10", "r0", piece.place(piece.by_id["r10"].onset), piece.place(0 * piece.end), "restart"
    )
    (row,) = rows(hesitations(heard_from(piece, first + again, jumps=(jump,)))["stops"])
    assert row["ms"] == pytest.approx(2000)
    assert row["place"]["measure"] == 2


def test_the_mean_tempo_leaves_pauses_out() -> None:
    """At quarter = 72 with a pause of two seconds the tempo is still 72."""
    piece = piece_of(EIGHTHS, BASS)
    keys = play(piece, 72, late_ms=lambda note: 2000 if note.onset >= 9 else 0)
    found = tempo(heard_from(piece, keys, tempo=96))
    assert found["value"] == pytest.approx(72, rel=0.01)
    assert found["share_of_goal"] == pytest.approx(0.75, rel=0.01)


@pytest.mark.parametrize("share", [-0.25, -0.1, 0.0, 0.1, 0.3])
def test_a_drift_is_told_with_its_direction(share: float) -> None:
    """Tempo that changes evenly by a share from start to end is told within three percent."""
    piece = piece_of(EIGHTHS, BASS)
    length = float(piece.end)

    def late(note: Note) -> float:
        x = float(note.onset)
        return 1000 * (length / share * _log(1 + share * x / length) - x) if share else 0.0

    found = tempo(heard_from(piece, play(piece, late_ms=late)))
    assert found["drift"] == pytest.approx(share, abs=0.03)


def _log(value: float) -> float:
    import math

    return math.log(value)


def test_a_tempo_that_swings_is_unsteady_without_drift() -> None:
    """Up and down by a tenth every four measures: unsteady, no drift to speak of."""
    import math

    piece = piece_of(EIGHTHS * 2)
    keys = play(piece, late_ms=lambda note: 1000 * 0.15 * 16 / 6.2832 * math.sin(float(note.onset) * 6.2832 / 16))
    found = tempo(heard_from(piece, keys))
    assert 0.07 < number(found["steadiness"]) < 0.14
    assert abs(number(found["drift"])) < 0.1


def test_three_notes_have_no_tempo() -> None:
    """Fewer than four onsets: no tempo and no hesitations, with the reason."""
    piece = piece_of("C4:1 D4:1 E4:1")
    heard = heard_from(piece, play(piece))
    for found in (tempo(heard), hesitations(heard)):
        assert found["value"] is None
        assert "too few" in str(found["reason"])
