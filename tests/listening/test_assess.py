"""assess(): from key events to a report, for good input and bad."""

import json
from dataclasses import replace
from fractions import Fraction

import pytest

from counterpane.errors import CounterpaneError, NotFound
from counterpane.listening.assess import assess
from counterpane.listening.engine import ENGINE
from counterpane.listening.events import performance_from_raw
from counterpane.listening.pictures import attempt_pictures
from counterpane.listening.played_tempo import played_tempo
from counterpane.listening.report import assessment_json
from counterpane.listening.weak_spots import tallies_from_json, weak_spots
from counterpane.model.assessment import Assessment
from counterpane.model.performance import Performance
from counterpane.model.practice import Decision, Passage
from tests.listening.measures.figures import number, rows
from tests.listening.measures.playing import (
    Key,
    analysis_of,
    jitter,
    performance_of,
    piece_of,
    play,
    sequence_of,
    statement_of,
)

LINE = "C5:1/2 D5:1/2 E5:1/2 F5:1/2 G5:1/2 F5:1/2 E5:1/2 D5:1/2 " * 6
BASS = "C3:1 G3:1 E3:1 G3:1 " * 6
PIECE = piece_of(LINE, BASS)
ANALYSIS = analysis_of(statements=(statement_of(PIECE, *(f"r{n}" for n in range(8))),))
WHOLE = Passage(1, 6, "both", 60.0)
MEASURES = [
    "accuracy",
    "evenness",
    "hesitations",
    "tempo",
    "togetherness",
    "articulation",
    "entries",
    "sequences",
    "balance",
    "flexibility",
]


def _assess(performance: Performance, passage: Passage = WHOLE) -> Assessment:
    return assess(PIECE, ANALYSIS, passage, performance)


def test_the_report_has_the_published_shape() -> None:
    """Keys and values as the machine-readable face promises them, and nothing that JSON cannot hold."""
    keys = [key for key in play(PIECE, late_ms=jitter(12, 1)) if key.note != "r11"]
    keys = [replace(key, midi=key.midi + 1) if key.note == "r20" else key for key in keys]
    report = json.loads(json.dumps(assessment_json(_assess(performance_of(keys))), allow_nan=False))
    assert report["engine"] == ENGINE
    assert report["drill"] == {"hands": "both", "measures": [1, 6], "tempo": 60.0}
    assert {row["status"] for row in report["notes"]} == {"played", "replaced", "left_out"}
    assert len(report["notes"]) == len(PIECE.notes)
    assert [row["event"] for row in report["events"]] == list(range(len(keys)))
    assert {row["status"] for row in report["events"]} == {"as_written", "replacement"}
    assert list(report["measures"]) == MEASURES
    for measure in report["measures"].values():
        assert {"value", "unit", "reason", "notes"} <= set(measure)
        assert (measure["reason"] is None) or (measure["value"] is None)
    assert 1 <= len(report["findings"]) <= 3
    for finding in report["findings"]:
        assert {"kind", "place", "text", "evidence", "next_step"} <= set(finding)
        assert {"measure", "beat", "offset"} == set(finding["place"])
    assert {row["hand"] for row in report["by_measure"]} == {"right", "left"}


def test_without_note_offs_touch_and_entries_are_left_open() -> None:
    """A recording without note-offs: a key that only its next stroke ends was not held until then."""
    analysis = analysis_of(statements=(statement_of(PIECE, *(f"r{n}" for n in range(8, 16))),))
    strokes = performance_from_raw([(key.onset_ms, 0x90, key.midi, 64) for key in play(PIECE)])
    measures = assess(PIECE, analysis, WHOLE, strokes).measures
    assert measures["accuracy"]["value"] == 1
    assert measures["articulation"]["value"] is None
    assert measures["entries"]["value"] is None


def test_beginning_is_no_achievement() -> None:
    """Two entries that open their hands are heard by themselves: nobody is praised for them."""
    analysis = analysis_of(
        statements=(statement_of(PIECE, "r0", "r1", "r2", "r3"), statement_of(PIECE, "l0", "l1", "l2", "l3"))
    )
    assessment = assess(PIECE, analysis, WHOLE, performance_of(play(PIECE)))
    assert assessment.measures["entries"]["value"] == assessment.measures["entries"]["of"] == 2
    assert "praise_entries" not in [finding.kind for finding in assessment.findings]


def test_a_warning_is_said_once() -> None:
    """That nothing was struck is seen by the reader and by the alignment, and told once."""
    assert _assess(performance_of([])).warnings == ("No key was struck.",)


def test_jumps_are_reported_from_place_to_place() -> None:
    """Broken off in measure 3 and begun again: one jump of kind restart, with both places."""
    first = [key for key in play(PIECE) if PIECE.by_id[str(key.note)].onset < 10]
    again = play(PIECE, start_ms=first[-1].onset_ms + 1800)
    (jump,) = rows(assessment_json(_assess(performance_of(first + again)))["jumps"])
    assert jump["kind"] == "restart"
    assert jump["from"]["measure"] == 3
    assert jump["to"] == {"measure": 1, "beat": 1.0, "offset": 0.0}


def test_one_hand_alone_is_measured_as_such() -> None:
    """A drill for the left hand: the right hand's notes are not asked for and not missed."""
    keys = [key for key in play(PIECE) if str(key.note).startswith("l")]
    assessment = _assess(performance_of(keys), replace(WHOLE, hands="left"))
    assert assessment.measures["accuracy"]["overall"] == 1
    assert assessment.measures["togetherness"]["value"] is None
    assert len(assessment.alignment.notes) == 24


def test_nothing_played_is_answered() -> None:
    """An empty performance: every note not reached, no measure, one finding that says what to do."""
    assessment = _assess(Performance(()))
    assert {note.status for note in assessment.alignment.notes} == {"not_reached"}
    assert [finding.kind for finding in assessment.findings] == ["nothing_played"]
    assert all(measure["value"] is None for measure in assessment.measures.values())


def test_one_note_is_answered() -> None:
    """A single key: too few for any measure of time, and no crash."""
    assessment = _assess(performance_of([Key("r0", 1000, 300, 72)]))
    for name in ("evenness", "hesitations", "tempo", "togetherness"):
        assert assessment.measures[name]["value"] is None
        assert assessment.measures[name]["reason"]
    assert assessment.findings


def test_another_piece_is_recognised_as_another() -> None:
    """Forty keys that have nothing to do with the passage: one finding, and no figures but the count."""
    keys = [Key(None, 1000 + 400.0 * n, 200, 25 + (n * 5) % 13 if n % 2 else 101 + n % 7) for n in range(40)]
    assessment = _assess(performance_of(keys))
    assert [finding.kind for finding in assessment.findings] == ["not_recognised"]
    assert assessment.measures["evenness"]["value"] is None


def test_the_other_hand_is_recognised_as_such() -> None:
    """The drill asks for the left hand and the right one plays: said so, and no note counted as wrong."""
    keys = [key for key in play(PIECE) if str(key.note).startswith("r")]
    assessment = _assess(performance_of(keys), replace(WHOLE, hands="left"))
    assert [finding.kind for finding in assessment.findings] == ["other_hand"]
    assert {note.status for note in assessment.alignment.notes} == {"not_reached"}


def test_other_measures_than_asked_are_not_measured() -> None:
    """Measures 5 and 6 played where 1 and 2 were asked: one finding that says so."""
    keys = [key for key in play(PIECE) if PIECE.by_id[str(key.note)].onset >= 16]
    keys = [replace(key, midi=key.midi + (n * 7) % 5 + 13) for n, key in enumerate(keys)]
    assessment = _assess(performance_of(keys), replace(WHOLE, last_measure=2))
    assert [finding.kind for finding in assessment.findings] == ["not_recognised"]


def test_a_transposed_instrument_is_named_and_the_rest_is_measured() -> None:
    """Everything an octave lower: one finding about the switch, and the notes count as right."""
    assessment = _assess(performance_of([replace(key, midi=key.midi - 12) for key in play(PIECE)]))
    assert assessment.for_student[0].kind == "transposed_down"
    assert assessment.for_student[0].evidence["semitones"] == 12
    assert assessment.measures["accuracy"]["value"] == 1


def test_playing_on_past_the_passage_harms_nothing() -> None:
    """Measures 1 to 3 are asked and the student plays on to the end: all asked notes are right."""
    assessment = _assess(performance_of(play(PIECE)), replace(WHOLE, last_measure=3))
    assert assessment.measures["accuracy"]["overall"] == 1
    assert not [finding for finding in assessment.findings if finding.weight >= 20]


@pytest.mark.parametrize(
    ("first", "last", "message"),
    [(1, 9, "no measure 9; the piece has measures 1 to 6"), (0, 2, "no measure 0"), (4, 2, "run backwards")],
)
def test_measures_that_are_not_there_are_refused(first: int, last: int, message: str) -> None:
    """One sentence that says which measures there are."""
    with pytest.raises(NotFound, match=message):
        _assess(performance_of(play(PIECE)), Passage(first, last, "both", 60.0))


def test_a_hand_without_notes_is_refused() -> None:
    """A drill for a hand that has nothing to play there."""
    piece = piece_of(LINE)
    with pytest.raises(CounterpaneError, match="no notes"):
        assess(piece, ANALYSIS, Passage(1, 6, "left", 60.0), performance_of(play(piece)))


def test_ten_keys_in_a_millisecond_are_answered() -> None:
    """A forearm on the keyboard between the notes changes no figure to nonsense."""
    keys = play(PIECE) + [Key(None, 9000.2, 50, 40 + n) for n in range(10)]
    assessment = _assess(performance_of(keys))
    assert assessment.measures["accuracy"]["value"] == 1
    assert assessment.measures["accuracy"]["added"] == 10
    assert number(assessment.measures["evenness"]["onset_sd_ms"]) < 1


@pytest.mark.parametrize("quarters", [30.0, 60.0, 132.0])
def test_the_tempo_is_read_from_the_playing_when_nothing_names_one(quarters: float) -> None:
    """Within five percent for an even row, pauses included."""
    keys = play(PIECE, quarters, late_ms=lambda note: 4000.0 if note.onset >= 12 else 0.0)
    assert played_tempo(PIECE, WHOLE, performance_of(keys)) == pytest.approx(quarters, rel=0.1)


def test_the_same_key_events_give_the_same_assessment() -> None:
    """Assessed twice, word for word the same: no clock and no chance in it."""
    performance = performance_of(play(PIECE, late_ms=jitter(30, 9)))
    assert assessment_json(_assess(performance)) == assessment_json(_assess(performance))


def test_a_key_that_both_hands_share_sounds_for_both() -> None:
    """G4 is written for both hands at beat 3 and struck once, as it must be: every note came, at the first try.

    The left hand's entry on that key is stressed, and counts among those that could be heard.
    """
    piece = piece_of("C5:1/2 D5:1/2 E5:1/2 F5:1/2 G4:1 C5:1 " * 6, "C3:1 E3:1 G4:1 E3:1 " * 6)
    shared = {note.id for note in piece.notes if note.midi == 67}
    left = [note.id for note in piece.notes if note.hand == "left"]
    keys = play(piece, velocity=lambda note: 90 if note.id == "l6" else 60)
    keys = [key for key in keys if not (key.note in shared and str(key.note).startswith("r"))]
    found = assess(piece, analysis_of(statements=(statement_of(piece, *left[6:12]),)), WHOLE, performance_of(keys))
    assert found.measures["accuracy"]["first_try"] == 1
    assert [row["heard_by"] for row in rows(found.measures["entries"]["each"])] == ["stress"]
    kinds = {finding.kind for finding in found.findings}
    assert "praise_notes" in kinds
    assert not any(kind.startswith("left_out") for kind in kinds)
    assert sum(tally.left_out for tally in found.tallies) == 0


def test_a_shared_key_that_nobody_struck_is_missing() -> None:
    """Without the shared key, both hands' notes are missing at that beat, and only there."""
    piece = piece_of("C5:1/2 D5:1/2 E5:1/2 F5:1/2 G4:1 C5:1 " * 6, "C3:1 E3:1 G4:1 E3:1 " * 6)
    gone = {note.id for note in piece.notes if note.midi == 67 and note.onset == 10}
    shared = {note.id for note in piece.notes if note.midi == 67 and note.hand == "left"}
    keys = [key for key in play(piece) if key.note not in gone | shared]
    found = assess(piece, analysis_of(), WHOLE, performance_of(keys))
    assert [(tally.measure, tally.left_out) for tally in found.tallies if tally.left_out] == [(3, 1), (3, 1)]


@pytest.mark.parametrize("parts", [3, 5, 6, 7])
def test_places_on_tuplets_are_found_again(parts: int) -> None:
    """Entries, sequences, covered statements and cut notes on thirds, fifths, sixths and sevenths of a quarter.

    Each begins on an upbeat of one such part, after a long note. Everything made from an attempt names these
    places: findings, pictures, and the counts by measure that weak spots and the lesson brief are made from.
    """
    tuplet = " ".join(f"{name}:1/{parts}" for name in ["C5", "D5", "E5", "F5", "G5", "A5", "B5"][:parts])
    measure = f"{tuplet} {tuplet} C5:{2 * parts - 1}/{parts} B4:1/{parts} "
    piece = piece_of(measure * 6, "C3:1 G3:1 E3:1 G3:1 " * 6)
    order = [note.id for note in piece.notes if note.hand == "right"]
    upbeats = [n for n, note in enumerate(order) if piece.by_id[note].onset % 4 == 4 - Fraction(1, parts)]
    subjects = [order[n : n + 2 * parts + 3] for n in (upbeats[0], upbeats[2])]
    cut, slip = piece.by_id[order[upbeats[3]]].onset, order[upbeats[4]]
    keys = play(
        piece,
        velocity=lambda note: 40 + round(2 * float(note.onset)) if note.hand == "right" else 110,
        late_ms=lambda note: -400.0 if note.onset >= cut else 0.0,
        length=lambda _: 1.0,
    )
    keys = [replace(key, midi=key.midi + 1) if key.note == slip else key for key in keys]
    analysis = analysis_of(
        statements=tuple(statement_of(piece, *ids) for ids in subjects),
        sequences=tuple(sequence_of(piece, *ids) for ids in subjects),
    )
    decision = Decision("A1", 1, 6, "grow", "joined", "none", by="teacher")
    performance = performance_of(keys)
    found = assess(piece, analysis, WHOLE, performance, decisions=(decision,))
    kinds = {finding.kind for finding in found.findings}
    assert {"entries", "covered", "praise_sequence_grows", "cut_short", "wrong_note_once"} <= kinds
    report = json.loads(json.dumps(assessment_json(found)))
    assert _offsets(report) >= {float(piece.by_id[subject[0]].onset) for subject in subjects} | {float(cut)}
    assert _offsets(report) <= {float(note.onset) for note in piece.notes}
    assert len(attempt_pictures(piece, analysis, found, performance)) >= 3
    (weak,) = weak_spots([tallies_from_json(report["by_measure"])])
    assert (weak.measure, weak.hand) == (found.passage.first_measure + int(piece.by_id[slip].onset // 4), "right")


def _offsets(report: object) -> set[float]:
    """Return the offset of every place that a report names."""
    if isinstance(report, dict):
        own = {report["offset"]} if "offset" in report else set()
        return own.union(*map(_offsets, report.values()))
    return set().union(*map(_offsets, report)) if isinstance(report, list) else set()
