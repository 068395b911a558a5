"""Evenness: what is uneven is measured, what is not (tempo, pauses, chords, ornaments) is not."""

from dataclasses import replace

import numpy as np
import pytest

from counterpane.listening.measures.deviations import measure_spreads
from counterpane.listening.measures.evenness import evenness
from counterpane.listening.measures.sheet import Sheet
from tests.listening.measures.figures import part, rows
from tests.listening.measures.playing import Key, heard_from, jitter, piece_of, play

SCALE = "C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4 D4"


def _running(measures: int, value: str = "1/4") -> str:
    return " ".join(f"{name}:{value}" for name in (SCALE.split() * measures))


def test_exact_playing_has_no_unevenness() -> None:
    """Notes exactly in tempo are even, with an SD of nothing."""
    piece = piece_of(_running(4), "C3:4 " * 4)
    found = evenness(heard_from(piece, play(piece)))
    assert found["ioi_sd_ms"] == pytest.approx(0, abs=0.01)
    assert found["onset_sd_ms"] == pytest.approx(0, abs=0.01)
    assert found["judged"] == "even"


def test_each_hand_has_its_own_figure() -> None:
    """Only the left hand wavers: its figure says so, and the right hand's stays below a millisecond."""
    piece = piece_of(_running(6), _running(6))
    shake = jitter(40, 1)
    keys = play(piece, late_ms=lambda note: shake(note) if note.hand == "left" else 0.0)
    by_hand = part(evenness(heard_from(piece, keys))["by_hand"])
    assert by_hand["right"]["onset_sd_ms"] < 1
    assert by_hand["left"]["onset_sd_ms"] == pytest.approx(40, rel=0.2)


@pytest.mark.parametrize("seed", range(5))
def test_intervals_of_independent_displacements_spread_by_root_two(seed: int) -> None:
    """Displacements of SD 20 ms: onsets show them, intervals the spread of their differences (expected 28 ms)."""
    piece = piece_of(_running(40))
    drawn = np.random.default_rng(seed).normal(0, 20, len(piece.notes))
    late = {note.id: float(ms) for note, ms in zip(piece.notes, drawn, strict=True)}
    found = evenness(heard_from(piece, play(piece, late_ms=lambda note: late[note.id])))
    assert found["onset_sd_ms"] == pytest.approx(drawn.std(), rel=0.02)
    assert found["ioi_sd_ms"] == pytest.approx(np.diff(drawn).std(), rel=0.02)
    assert found["ioi_sd_ms"] == pytest.approx(20 * 2**0.5, rel=0.1)


def test_the_share_is_of_the_note_value() -> None:
    """At quarter = 60 a sixteenth lasts 250 ms: intervals that spread by 25 ms are a tenth of it."""
    piece = piece_of(_running(40))
    found = evenness(heard_from(piece, play(piece, late_ms=jitter(25 / 2**0.5, 2))))
    assert found["share"] == pytest.approx(0.1, rel=0.08)
    assert found["interval_ms"] == pytest.approx(250, rel=0.01)


def test_chords_are_left_out() -> None:
    """A chord that is spread by 80 ms does not make the hand uneven."""
    piece = piece_of(f"{_running(2)} C4+E4+G4:1 C4+E4+G4:1 {_running(2)}")
    spread = {note.id: 80.0 * index for index, note in enumerate(piece.notes) if note.onset in (8, 9)}
    keys = play(piece, late_ms=lambda note: (spread.get(note.id, 0.0)) % 160)
    assert evenness(heard_from(piece, keys))["onset_sd_ms"] == pytest.approx(0, abs=0.01)


def test_ornamented_notes_are_left_out() -> None:
    """A trill that begins late says nothing about evenness."""
    piece = piece_of(_running(4))
    ornamented = tuple(replace(note, ornaments=("trill",)) if note.id == "r9" else note for note in piece.notes)
    piece = replace(piece, notes=ornamented)
    keys = play(piece, late_ms=lambda note: 90.0 if note.id == "r9" else 0.0)
    found = evenness(heard_from(piece, keys))
    assert found["onset_sd_ms"] == pytest.approx(0, abs=0.01)
    assert found["displaced"] == 0


def test_a_hesitation_is_not_unevenness() -> None:
    """A pause of a second in the middle leaves the evenness of what is played before and after it."""
    piece = piece_of(_running(8))
    shake = jitter(10, 4)
    keys = play(piece, late_ms=lambda note: shake(note) + (1000.0 if note.onset >= 13 else 0.0))
    assert evenness(heard_from(piece, keys))["onset_sd_ms"] == pytest.approx(10, rel=0.2)


def test_passes_are_measured_one_by_one() -> None:
    """Going back and playing on at another tempo is not unevenness."""
    piece = piece_of(_running(4))
    first = play(piece, 60)
    again = play(piece, 45, start_ms=60_000, run=1)
    found = evenness(heard_from(piece, first + again))
    assert found["onset_sd_ms"] == pytest.approx(0, abs=0.01)
    assert found["notes"] == 2 * 63


def test_short_goes_count_together() -> None:
    """Six goes at one measure, each with four notes of the left hand: its figure rests on all of them."""
    piece = piece_of(_running(1), "C3:1 D3:1 E3:1 F3:1")
    drawn = np.random.default_rng(6).normal(0, 20, (6, len(piece.notes)))

    def go(run: int) -> list[Key]:
        late = dict(zip((note.id for note in piece.notes), drawn[run].tolist(), strict=True))
        return play(piece, start_ms=1000 + 9000 * run, run=run, late_ms=lambda note: late[note.id])

    found = evenness(heard_from(piece, [key for run in range(6) for key in go(run)]))
    assert part(found["by_hand"])["left"]["notes"] == 6 * 3
    assert found["onset_sd_ms"] == pytest.approx(drawn.std(ddof=1), rel=0.05)


def test_a_rhythm_played_otherwise_shows_in_its_note_values() -> None:
    """Dotted eighth and sixteenth played as triplets: the sixteenth is a third too long."""
    piece = piece_of("C4:3/4 D4:1/4 E4:3/4 F4:1/4 " * 8)
    late = {note.id: 0.0 if note.onset.denominator == 1 else -1000 / 12 for note in piece.notes}
    found = evenness(heard_from(piece, play(piece, late_ms=lambda note: late[note.id])))
    ratios = {row["quarters"]: row["ratio"] for row in rows(found["by_value"])}
    assert ratios[0.25] == pytest.approx(4 / 3, abs=0.02)
    assert ratios[0.75] == pytest.approx(8 / 9, abs=0.02)


def test_the_uneven_measure_is_found() -> None:
    """Unevenness in the third measure alone shows there and nowhere else."""
    piece = piece_of(_running(6))
    shake = jitter(50, 9)
    keys = play(piece, late_ms=lambda note: shake(note) if 8 <= note.onset < 12 else 0.0)
    spreads = {row.measure: row.sd_ms for row in measure_spreads(heard_from(piece, keys), "right")}
    assert max(spreads, key=lambda number: spreads[number]) == 3
    assert spreads[3] > 3 * spreads[5]


def test_one_displaced_note_is_counted_and_left_out() -> None:
    """A single note 150 ms late is named as displaced; the rest stays even."""
    piece = piece_of(_running(6))
    shake = jitter(6, 3)
    keys = play(piece, late_ms=lambda note: shake(note) + (150.0 if note.id == "r41" else 0.0))
    found = evenness(heard_from(piece, keys))
    assert found["displaced"] == 1
    assert found["onset_sd_ms"] == pytest.approx(6, rel=0.25)


def test_too_few_notes_give_no_figure_and_say_so() -> None:
    """Seven notes are too few: no value, and one sentence."""
    piece = piece_of("C4:1 D4:1 E4:1 F4:1 G4:1 A4:1 B4:1")
    found = evenness(heard_from(piece, play(piece)))
    assert found["value"] is None
    assert "at least 8" in str(found["reason"])


def test_a_wrong_note_keeps_its_time_and_a_corrected_one_does_not() -> None:
    """A wrong key struck in time is as good for evenness as the right one."""
    piece = piece_of(_running(4))
    keys = [
        replace(key, midi=key.midi + 1, status="replacement") if key.note == "r20" else key for key in play(piece)
    ]
    assert evenness(heard_from(piece, keys))["notes"] == 63


@pytest.mark.parametrize(
    ("beats", "unit", "value", "places"),
    [(4, 4, 0.5, [0, 1, 0, 1]), (4, 4, 0.25, [0, 0, 0, 0]), (6, 8, 0.5, []), (6, 8, 0.25, [0, 0, 0, 0])],
)
def test_notes_go_in_twos_within_a_beat(beats: int, unit: int, value: float, places: list[int]) -> None:
    """Eighths pair within a quarter beat; in six-eight the eighth is the beat itself and pairs with none.

    Common practice, no source. (Onsets are eighths apart; sixteenths on them are always the first of two.)
    """
    piece = piece_of(_running(1))
    measures = tuple(replace(measure, beats=beats, beat_unit=unit) for measure in piece.measures)
    sheet = Sheet(replace(piece, measures=measures), piece.notes)
    found = sheet.pair_places(np.array([0.0, 0.5, 1.0, 1.5]), np.full(4, value))
    assert found[~np.isnan(found)].tolist() == places
