"""Articulation, entries, sequences, flexibility: what a listener follows beyond the notes."""

import math

import pytest

from counterpane.listening.measures.articulation import articulation
from counterpane.listening.measures.entries import entries
from counterpane.listening.measures.flexibility import flexibility
from counterpane.listening.measures.sequences import sequences
from counterpane.model.analysis import Suggestion
from counterpane.model.practice import Decision
from tests.listening.measures.figures import rows
from tests.listening.measures.playing import (
    analysis_of,
    heard_from,
    jitter,
    piece_of,
    play,
    sequence_of,
    statement_of,
)

LINE = "C4:1/2 D4:1/2 E4:1/2 F4:1/2 G4:1/2 A4:1/2 B4:1/2 C5:1/2 " * 4
ENTRIES = ("r0", "r8", "r16", "r24")


@pytest.mark.parametrize(
    ("length", "share", "kind"),
    [(1.1, -0.1, "joined"), (1.0, 0.0, "joined"), (0.8, 0.2, "detached"), (0.4, 0.6, "staccato")],
)
def test_touch_is_the_gap_as_a_share_of_the_interval(length: float, share: float, kind: str) -> None:
    """Keys held for a share of their value leave the rest as a gap, or overlap by what is over."""
    piece = piece_of(LINE)
    found = articulation(heard_from(piece, play(piece, length=lambda _: length)))
    assert found["value"] == pytest.approx(share, abs=0.001)
    assert found["gap_ms"] == pytest.approx(share * 500, abs=0.5)
    assert found["kind"] == kind


def test_repeated_keys_say_nothing_about_touch() -> None:
    """A repeated key has to be let go: its gap is no choice, and too few others give no figure."""
    piece = piece_of("C4:1/2 " * 16)
    assert articulation(heard_from(piece, play(piece)))["value"] is None


def test_entries_set_off_by_silence_or_stress_are_counted() -> None:
    """Of four entries one opens, one has silence before it, one is stressed, and one is hidden: 3 of 4."""
    piece = piece_of(LINE)
    analysis = analysis_of(statements=tuple(statement_of(piece, *_eight(first)) for first in ENTRIES))
    keys = play(
        piece,
        length=lambda note: 0.5 if note.id == "r7" else 0.95,
        velocity=lambda note: 78 if note.id == "r16" else 62 + note.midi % 2,
    )
    found = entries(heard_from(piece, keys), analysis)
    assert (found["value"], found["of"]) == (3, 4)
    assert [row["heard_by"] for row in rows(found["each"])] == ["opening", "silence", "stress", None]


def test_detached_playing_throughout_sets_no_entry_off() -> None:
    """Where every note is separated, separation tells no entry from another note."""
    piece = piece_of(LINE)
    analysis = analysis_of(statements=(statement_of(piece, *_eight("r8")),))
    found = entries(heard_from(piece, play(piece, length=lambda _: 0.6)), analysis)
    assert (found["value"], found["of"]) == (0, 1)


@pytest.mark.parametrize(("held", "heard_by"), [(0.9, "rest"), (2.95, None)])
def test_an_entry_after_a_rest_is_heard_when_the_rest_is_kept(held: float, heard_by: str | None) -> None:
    """A rest before the entry counts if the key was let go, and not if it was held through."""
    piece = piece_of(f"{'C4:1/2 D4:1/2 ' * 8} r:1 {LINE}")
    analysis = analysis_of(statements=(statement_of(piece, *_eight("r16")),))
    keys = play(piece, length=lambda note: held if note.id == "r15" else 0.9)
    found = entries(heard_from(piece, keys), analysis)
    assert [row["heard_by"] for row in rows(found["each"])] == [heard_by]


def test_no_statement_no_count() -> None:
    """A piece without a subject has no entries to count, and says so."""
    piece = piece_of(LINE)
    found = entries(heard_from(piece, play(piece)), analysis_of())
    assert found["value"] is None
    assert found["reason"]


@pytest.mark.parametrize(("slope", "direction"), [(2.0, "grows"), (-2.0, "fades"), (0.0, "level")])
def test_loudness_through_a_sequence_has_a_direction(slope: float, direction: str) -> None:
    """Sixteen notes that get louder by two steps a quarter grow, whatever single accents say."""
    piece = piece_of(LINE)
    analysis = analysis_of(sequences=(sequence_of(piece, *(f"r{n}" for n in range(16))),))
    keys = play(
        piece,
        velocity=lambda note: (
            round(60 + slope * float(note.onset)) + (20 if note.id in ("r3", "r9") else note.midi % 2)
        ),
    )
    (row,) = rows(sequences(heard_from(piece, keys), analysis)["each"])
    assert row["direction"] == direction
    assert row["slope"] == pytest.approx(slope, abs=0.4)
    assert row["plan"] is None


def test_the_teachers_plan_stands_before_the_suggestion() -> None:
    """The analysis suggests growing; the decision is to fade; a sequence that grows is against the plan."""
    piece = piece_of(LINE)
    found = sequence_of(piece, *(f"r{n}" for n in range(16)))
    hint = Suggestion("g1", found.start, found.end, "grow", "", "", found.notes)
    analysis = analysis_of(sequences=(found,), suggestions=(hint,))
    keys = play(piece, velocity=lambda note: round(60 + 2 * float(note.onset)))
    heard = heard_from(piece, keys)
    decision = Decision("A1", 1, 4, "fade", "joined", "none", by="teacher")
    suggested, decided = sequences(heard, analysis), sequences(heard, analysis, (decision,))
    assert (suggested["value"], suggested["of"]) == (1, 1)
    assert (decided["value"], decided["of"]) == (0, 1)
    assert rows(decided["each"])[0]["plan_by"] == "teacher"


def test_uneven_loudness_is_left_open() -> None:
    """Loudness all over the place goes nowhere for sure: unclear, and not against the plan."""
    piece = piece_of(LINE)
    found = sequence_of(piece, *(f"r{n}" for n in range(10)))
    analysis = analysis_of(
        sequences=(found,),
        suggestions=(Suggestion("g", found.start, found.end, "grow", "", "", found.notes),),
    )
    shake = jitter(14, 6)
    keys = play(piece, velocity=lambda note: max(1, min(127, round(64 + shake(note)))))
    (row,) = rows(sequences(heard_from(piece, keys), analysis)["each"])
    assert row["direction"] == "unclear"
    assert row["follows_plan"] is None


@pytest.mark.parametrize(
    ("tempo_swing", "loudness", "judged"),
    [(0.0, 0.0, "mechanical"), (0.04, 6.0, "in between"), (0.0, 8.0, "in between"), (0.25, 8.0, "overdone")],
)
def test_flexibility_has_a_wide_middle(tempo_swing: float, loudness: float, judged: str) -> None:
    """Neither spread is mechanical; one of them huge is overdone; all ordinary playing lies in between."""
    piece = piece_of(LINE * 2)
    keys = play(
        piece,
        late_ms=lambda note: 1000 * tempo_swing * 16 / 6.2832 * math.sin(float(note.onset) * 6.2832 / 16),
        velocity=lambda note: round(64 + loudness * math.sin(float(note.onset) / 2)) + note.midi % 2,
    )
    assert flexibility(heard_from(piece, keys))["judged"] == judged


def test_shaping_waits_for_the_notes() -> None:
    """With every eighth note wrong there is nothing to say about shaping yet."""
    piece = piece_of(LINE * 2)
    keys = play(piece)
    for key in keys[::8]:
        key.status, key.midi = "replacement", key.midi + 2
    found = flexibility(heard_from(piece, keys))
    assert found["value"] is None
    assert "come first" in str(found["reason"])


def _eight(first: str) -> tuple[str, ...]:
    start = int(first[1:])
    return tuple(f"r{n}" for n in range(start, start + 8))
