"""Measures are those on the page: numbers as printed, pickups, divisions, repeats, endings, changes of meter."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.model.piece import Measure
from counterpane.score import read_score_bytes
from tests.score import one_piece
from tests.score.one_piece import attributes, musicxml, xml_measure, xml_note


def _kern(*lines: str, meter: str = "4/4") -> bytes:
    head = ["**kern\t**kern", "*clefF4\t*clefG2", "*k[]\t*k[]", f"*M{meter}\t*M{meter}"]
    return "\n".join([*head, *lines, "*-\t*-", ""]).encode()


def _measures(data: bytes, name: str = "score") -> tuple[Measure, ...]:
    return read_score_bytes(data, name).piece.measures


def test_a_pickup_keeps_the_number_that_the_file_prints() -> None:
    """Some files print the pickup as measure 0, some as measure 1; both stay as they are."""
    for first in (0, 1):
        lines = [f"={first}-\t={first}-", "4r\t4cc", f"={first + 1}\t={first + 1}", "1C\t1cc"]
        measures = _measures(_kern(*lines))
        assert [first, first + 1] == [measure.number for measure in measures]
        assert [measure.padding for measure in measures] == [3, 0]


def test_an_upbeat_quarter_in_common_time_is_beat_four() -> None:
    """Beats in a pickup are those of the full measure."""
    piece = read_score_bytes(_kern("4r\t4cc", "=1\t=1", "1C\t1cc"), "score").piece
    assert piece.place(Fraction(0)).beat == 4
    assert piece.place(Fraction(1)).beat == 1


def test_beats_in_six_eight_are_counted_in_eighths() -> None:
    """The sixth eighth is beat 6; the unit is the time signature's lower figure."""
    piece = read_score_bytes(
        _kern("=1\t=1", "2.C\t4.cc", ".\t8cc", ".\t8dd", ".\t8ee", meter="6/8"), "score"
    ).piece
    beats = [piece.place(note.onset).beat for note in piece.notes if note.hand == "right"]
    assert beats == [1, 4, 5, 6]


def test_an_empty_measure_0_is_left_out() -> None:
    """Nothing stands in it, so measure 1 begins the piece."""
    data = musicxml(
        f'<measure number="0">{attributes()}</measure>'
        + xml_measure("1", xml_note("C5", 24, 1) * 2, xml_note("C3", 24, 2) * 2, 48)
    )
    measures = _measures(data.encode())
    assert [(measure.number, measure.onset) for measure in measures] == [(1, 0)]


def test_a_measure_divided_by_a_repeat_sign_keeps_its_beats_and_its_number() -> None:
    """The second half has the number of the first and goes on counting its beats."""
    right = xml_note("C5", 24, 1)
    left = xml_note("C3", 24, 2)
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    whole = xml_measure("1", right * 2, left * 2, 48, attributes())
    halves = xml_measure("2", right, left, 24).replace("</measure>", repeat + "</measure>") + xml_measure(
        "X1", right, left, 24
    )
    last = xml_measure("3", right * 2, left * 2, 48)
    piece = read_score_bytes(musicxml(whole + halves + last).encode(), "score").piece
    assert [measure.number for measure in piece.measures] == [1, 2, 2, 3]
    assert piece.place(piece.measures[2].onset).beat == 3
    assert [measure.repeat_end for measure in piece.measures] == [False, True, False, False]


def test_repeats_and_endings_are_marked_and_not_unfolded() -> None:
    """Each written measure comes once, with the repeat signs and the ending that it stands in."""
    bar = xml_note("C5", 24, 1) * 2
    low = xml_note("C3", 24, 2) * 2
    start = '<barline location="left"><repeat direction="forward"/></barline>'
    first = (
        '<barline location="left"><ending number="1" type="start"/></barline>',
        '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>',
    )
    second = (
        '<barline location="left"><ending number="2" type="start"/></barline>',
        '<barline location="right"><ending number="2" type="stop"/></barline>',
    )
    score = musicxml(
        xml_measure("1", bar, low, 48, attributes() + start)
        + xml_measure("2", bar, low, 48, first[0]).replace("</measure>", first[1] + "</measure>")
        + xml_measure("3", bar, low, 48, second[0]).replace("</measure>", second[1] + "</measure>")
    )
    measures = _measures(score.encode())
    assert [measure.repeat_start for measure in measures] == [True, False, False]
    assert [measure.repeat_end for measure in measures] == [False, True, False]
    assert [measure.endings for measure in measures] == [(), (1,), (2,)]


@pytest.mark.parametrize("name", ["abc", "kern"])
def test_repeats_are_read_from_the_barlines_of_text_formats(name: str) -> None:
    """ABC "|: :|" and kern "=!|: =:|!"."""
    abc = b"X:1\nM:4/4\nL:1/4\nK:C\nV:1\n|: CDEF :| G4 |]\nV:2 clef=bass\n|: C,4 :| G,,4 |]\n"
    kern = _kern("=1!|:\t=1!|:", "1C\t1c", "=2:|!\t=2:|!", "1GG\t1g", "==\t==")
    measures = _measures(abc if name == "abc" else kern)
    assert [(m.repeat_start, m.repeat_end) for m in measures] == [(True, True), (False, False)]


def test_meter_and_key_may_change_on_the_way() -> None:
    """Each measure has its meter, and the piece lists each key signature with its onset."""
    three_eight = "<time><beats>3</beats><beat-type>8</beat-type></time>"
    second = f"<attributes><key><fifths>2</fifths></key>{three_eight}</attributes>"
    score = musicxml(
        xml_measure("1", xml_note("C5", 24, 1) * 2, xml_note("C3", 24, 2) * 2, 48, attributes(-3))
        + xml_measure("2", xml_note("D5", 6, 1) * 3, xml_note("D3", 6, 2) * 3, 18, second)
    )
    piece = read_score_bytes(score.encode(), "score").piece
    assert [(measure.beats, measure.beat_unit) for measure in piece.measures] == [(4, 4), (3, 8)]
    assert [(key.onset, key.fifths) for key in piece.key_signatures] == [(0, -3), (4, 2)]
    assert piece.place(Fraction(5)).beat == 3


def test_measures_without_numbers_are_counted_and_the_notation_shows_the_count() -> None:
    """ABC prints no numbers: a pickup is 0, the first full measure 1."""
    document = read_score_bytes(b"X:1\nM:3/4\nL:1/4\nK:C\nG | CDE | FGA |]\n", "tune.abc")
    assert [measure.number for measure in document.piece.measures] == [0, 1, 2]
    assert 'n="2"' in document.mei


def test_a_measure_that_holds_too_much_is_read_and_pointed_out() -> None:
    """Five quarters in 4/4: the notes stay where they are, the piece says which measure to look at."""
    score = musicxml(
        xml_measure("1", xml_note("C5", 24, 1) * 2, xml_note("C3", 24, 2) * 2, 48, attributes())
        + xml_measure("2", xml_note("C5", 12, 1) * 5, xml_note("C3", 12, 2) * 5, 60)
    )
    piece = read_score_bytes(score.encode(), "score").piece
    assert [measure.length for measure in piece.measures] == [4, 5]
    assert piece.warnings == ("More notes than the meter allows stand in measure 2; compare with the page.",)


def test_a_rest_over_several_measures_is_several_measures() -> None:
    """Each keeps its number."""
    rest = '<note><rest measure="yes"/><duration>48</duration><voice>1</voice><staff>1</staff></note>'
    sign = "<attributes><measure-style><multiple-rest>3</multiple-rest></measure-style></attributes>"
    bars = [attributes() + sign + rest, rest, rest, xml_note("C5", 24, 1) * 2]
    score = musicxml("".join(f'<measure number="{i}">{bar}</measure>' for i, bar in enumerate(bars, 1)))
    assert [(m.number, m.onset) for m in _measures(score.encode())] == [(1, 0), (2, 4), (3, 8), (4, 12)]


def test_of_several_movements_the_first_is_read() -> None:
    """The others are not lost in silence."""
    movement = one_piece.MEI[one_piece.MEI.index("<mdiv>") : one_piece.MEI.index("</body>")]
    two = one_piece.MEI.replace("</body>", movement + "</body>")
    piece = read_score_bytes(two.encode(), "score").piece
    assert len(piece.measures) == 4
    assert any("2 movements" in warning for warning in piece.warnings)


def test_a_staff_that_rests_in_whole_measures_takes_the_length_of_the_meter() -> None:
    """Whole-measure rests have no length of their own; two resting staves last as long as the meter says."""
    rest = '<note><rest measure="yes"/><duration>36</duration><voice>{}</voice><staff>{}</staff></note>'
    score = musicxml(
        xml_measure("1", rest.format(1, 1), rest.format(5, 2), 36, attributes(0, 3))
        + xml_measure("2", rest.format(1, 1), xml_note("C3", 12, 2) * 3, 36)
    )
    measures = _measures(score.encode())
    assert [measure.length for measure in measures] == [3, 3]
    assert [measure.padding for measure in measures] == [0, 0]
