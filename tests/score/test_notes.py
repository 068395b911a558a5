"""Notes are what sounds: ties joined, tuplets exact, graces apart, signs kept, what is not music left out."""

from __future__ import annotations

from fractions import Fraction

import pytest

from counterpane.model.piece import Piece
from counterpane.score import read_score_bytes
from counterpane.units import pitch_name
from tests.score.one_piece import attributes, mei, musicxml, xml_measure, xml_note

REST = xml_note("r", 24, 2) * 2


def _notations(inside: str) -> str:
    return f"<notations>{inside}</notations>"


def _one_measure(right: str, left: str = REST, length: int = 48, first: str = attributes()) -> Piece:
    return read_score_bytes(musicxml(xml_measure("1", right, left, length, first)).encode(), "score").piece


def _kern_line(*tokens: str, key: str = "*k[]") -> bytes:
    lines = ["**kern", "*clefG2", key, "*M4/4", "=1", *tokens, "==", "*-", ""]
    return "\n".join(lines).encode()


def test_a_chain_of_ties_is_one_note_with_all_its_heads() -> None:
    """Four tied quarters over a barline sound once, four quarters long."""
    tie = {
        "start": '<tied type="start"/>',
        "both": '<tied type="stop"/><tied type="start"/>',
        "stop": '<tied type="stop"/>',
    }
    first = (
        xml_note("C5", 24, 1)
        + xml_note("G5", 12, 1, _notations(tie["start"]))
        + xml_note("G5", 12, 1, _notations(tie["both"]))
    )
    second = (
        xml_note("G5", 12, 1, _notations(tie["both"]))
        + xml_note("G5", 12, 1, _notations(tie["stop"]))
        + xml_note("G5", 24, 1)
    )
    score = musicxml(xml_measure("1", first, REST, 48, attributes()) + xml_measure("2", second, REST, 48))
    notes = read_score_bytes(score.encode(), "score").piece.notes
    assert [(note.onset, note.duration) for note in notes] == [(0, 2), (2, 4), (6, 2)]
    assert len(notes[1].heads) == 4


def test_ties_in_mei_attributes_join_even_where_the_middle_is_marked_as_a_beginning() -> None:
    """Files differ in how they mark the middle of a chain."""
    for middle in ("m", "i"):
        heads = "".join(
            f'<note dur="4" pname="c" oct="5" accid.ges="n" tie="{sign}"/>' for sign in ("i", middle, middle, "t")
        )
        data = mei(f'<measure n="1"><staff n="1"><layer n="1">{heads}</layer></staff></measure>')
        (note,) = read_score_bytes(data.encode(), "score").piece.notes
        assert note.duration == 4


def test_a_tie_between_chords_joins_only_the_notes_that_go_on() -> None:
    """C and E sound together; only C is tied over."""
    piece = read_score_bytes(_kern_line("[2c 2e", "2c] 2f"), "score").piece
    assert [(pitch_name(note.pitch), note.onset, note.duration) for note in piece.notes] == [
        ("C4", 0, 4),
        ("E4", 0, 2),
        ("F4", 2, 2),
    ]


@pytest.mark.parametrize(
    ("token", "count", "length"),
    [
        ("12c", 12, Fraction(1, 3)),  # triplet eighths
        ("24c", 24, Fraction(1, 6)),  # triplet sixteenths
        ("20c", 20, Fraction(1, 5)),  # five sixteenths in the time of four
        ("28c", 28, Fraction(1, 7)),  # seven in the time of four
        ("8..c", 0, Fraction(7, 8)),  # doubly dotted
    ],
)
def test_tuplets_and_dots_are_exact_fractions(token: str, count: int, length: Fraction) -> None:
    """Lengths are fractions of a quarter, never rounded."""
    tokens = [token] * count if count else [token, token, token, token, "8r"]
    piece = read_score_bytes(_kern_line(*tokens), "score").piece
    assert {length} == {note.duration for note in piece.notes}
    assert [i * length for i in range(len(piece.notes))] == [note.onset for note in piece.notes]


def test_triplets_without_a_bracket_last_as_long_as_the_file_says() -> None:
    """Some programs write the time modification and no tuplet sign; the duration decides."""
    right = xml_note("C5", 4, 1) * 3 + xml_note("D5", 12, 1) + xml_note("E5", 24, 1)
    notes = [note for note in _one_measure(right).notes if note.hand == "right"]
    assert [0, Fraction(1, 3), Fraction(2, 3), 1, 2] == [note.onset for note in notes]


def test_divisions_may_change_on_the_way_and_types_may_be_missing() -> None:
    """MusicXML: <divisions> holds until the next; <type> is optional, <duration> is not."""
    pitch = "<pitch><step>C</step><octave>5</octave></pitch>"
    quarter = f"<note>{pitch}<duration>{{}}</duration><voice>1</voice><staff>1</staff></note>"
    score = musicxml(
        xml_measure("1", quarter.format(12) * 4, REST, 48, attributes())
        + xml_measure("2", quarter.format(3) + quarter.format(1) + quarter.format(2) * 4,
                      REST.replace("24", "4"), 12, "<attributes><divisions>2</divisions></attributes>")
    )  # fmt: skip
    notes = [note for note in read_score_bytes(score.encode(), "score").piece.notes if note.hand == "right"]
    assert [1, 1, 1, 1, Fraction(3, 2), Fraction(1, 2), 1, 1, 1, 1][: len(notes)] == [
        note.duration for note in notes
    ]


def test_grace_notes_stand_apart_and_know_their_principal_note() -> None:
    """They take no time; slashed and unslashed are told apart."""
    pitch = "<pitch><step>B</step><octave>4</octave></pitch>"
    grace = f"<note><grace{{}}/>{pitch}<voice>1</voice><type>eighth</type><staff>1</staff></note>"
    piece = _one_measure(
        grace.format(' slash="yes"') + xml_note("C5", 24, 1) + grace.format("") + xml_note("D5", 24, 1)
    )
    right = [note for note in piece.notes if note.hand == "right"]
    assert [note.onset for note in right] == [0, 2]
    assert [(True, right[0].id, 0), (False, right[1].id, 2)] == [
        (grace.slashed, grace.principal, grace.onset) for grace in piece.graces
    ]


def test_a_grace_note_at_the_very_end_belongs_to_the_note_before_it() -> None:
    """An afterbeat has no note to lead to."""
    piece = read_score_bytes(_kern_line("1c", "8qd"), "score").piece
    assert piece.notes[0].id == piece.graces[0].principal


ORNAMENTS = [
    ("<trill-mark/>", "trill"),
    ("<mordent/>", "mordent"),
    ("<inverted-mordent/>", "inverted-mordent"),
    ("<turn/>", "turn"),
    ("<inverted-turn/>", "inverted-turn"),
]


@pytest.mark.parametrize(("sign", "name"), ORNAMENTS)
def test_ornament_signs_of_musicxml_are_kept(sign: str, name: str) -> None:
    """The names are those of MusicXML: its mordent has the stroke and goes below."""
    right = xml_note("C5", 24, 1, _notations(f"<ornaments>{sign}</ornaments>")) + xml_note("D5", 24, 1)
    notes = [note for note in _one_measure(right).notes if note.hand == "right"]
    assert [(name,), ()] == [note.ornaments for note in notes]


@pytest.mark.parametrize(
    ("token", "name"),
    [
        ("T", "trill"),
        ("t", "trill"),
        ("M", "inverted-mordent"),
        ("m", "inverted-mordent"),
        ("W", "mordent"),
        ("w", "mordent"),
        ("S", "turn"),
        ("$", "inverted-turn"),
    ],
)
def test_ornament_signs_of_kern_are_kept(token: str, name: str) -> None:
    """Kern's M and m are the sign without a stroke, W and w the one with it (small: by a semitone)."""
    assert (name,) == read_score_bytes(_kern_line(f"2c{token}", "2d"), "score").piece.notes[0].ornaments


@pytest.mark.parametrize(
    ("sign", "name"),
    [("T", "trill"), ("!mordent!", "mordent"), ("M", "mordent"), ("P", "inverted-mordent"), ("!turn!", "turn")],
)
def test_ornament_signs_of_abc_are_kept(sign: str, name: str) -> None:
    """ABC 2.1: M is the lower, P the upper mordent, T the trill."""
    piece = read_score_bytes(f"X:1\nM:4/4\nL:1/4\nK:C\n{sign}c2 d2 |]\n".encode(), "tune").piece
    assert [(name,), ()] == [note.ornaments for note in piece.notes]


def test_a_sign_given_by_beat_finds_its_note() -> None:
    """MEI may say staff and time stamp instead of the note's id."""
    data = mei(
        '<measure n="1"><staff n="1"><layer n="1"><note dur="2" pname="c" oct="5"/>'
        '<note dur="2" pname="d" oct="5"/></layer></staff><trill staff="1" tstamp="3"/>'
        '<fermata staff="1" tstamp="1"/></measure>'
    )
    first, second = read_score_bytes(data.encode(), "score").piece.notes
    assert (first.ornaments, second.ornaments) == ((), ("trill",))
    assert (first.fermata, second.fermata) == (True, False)


def test_articulations_and_fermatas_belong_to_the_whole_chord() -> None:
    """A staccato chord is staccato in every note."""
    signs = _notations("<articulations><staccato/><accent/></articulations><fermata/>")
    right = xml_note("C5", 24, 1, signs) + xml_note("E5", 24, 1, chord=True) + xml_note("D5", 24, 1)
    low, high, single = (note for note in _one_measure(right).notes if note.hand == "right")
    assert {("staccato", "accent")} == {low.articulations, high.articulations}
    assert (low.fermata, high.fermata, single.fermata) == (True, True, False)


def test_notes_of_a_chord_sound_together_in_one_voice() -> None:
    """A final chord in a single line keeps the line's voice."""
    right = xml_note("C5", 24, 1) + xml_note("C5", 24, 1) + xml_note("E5", 24, 1, chord=True)
    notes = [note for note in _one_measure(right).notes if note.hand == "right"]
    assert [note.onset for note in notes] == [0, 2, 2]
    assert len({note.voice for note in notes}) == 1


def test_voices_of_a_staff_stay_voices_numbered_from_high_to_low() -> None:
    """Two layers in the right hand, one in the left: 1, 2, 3 by mean pitch over the piece."""
    second = "<backup><duration>48</duration></backup>" + (xml_note("E4", 24, 1) * 2).replace(
        "<voice>1</voice>", "<voice>2</voice>"
    )
    piece = _one_measure(xml_note("C5", 24, 1) * 2 + second, xml_note("C3", 24, 2) * 2)
    assert {("C5", 1, "right"), ("E4", 2, "right"), ("C3", 3, "left")} == {
        (pitch_name(note.pitch), note.voice, note.hand) for note in piece.notes
    }


def test_a_note_drawn_on_the_other_staff_is_played_by_that_staffs_hand() -> None:
    """The hand follows the staff that the note is drawn on, the voice follows its layer."""
    crossing = xml_note("G3", 24, 1).replace("<staff>1</staff>", "<staff>2</staff>")
    piece = _one_measure(xml_note("C5", 24, 1) + crossing)
    right, left = piece.notes
    assert (right.hand, left.hand) == ("right", "left")
    assert right.voice == left.voice


def test_invisible_and_cue_notes_are_not_the_players() -> None:
    """print-object="no" hides a note from the page; a cue note belongs to somebody else."""
    hidden = xml_note("C5", 24, 1).replace("<note>", '<note print-object="no">')
    cue = xml_note("D5", 24, 1).replace("<note>", "<note><cue/>")
    piece = _one_measure(hidden + xml_note("E5", 24, 1) + cue.replace("24", "24"), xml_note("C3", 24, 2) * 2)
    assert [pitch_name(note.pitch) for note in piece.notes if note.hand == "right"] == ["E5"]


def test_mei_without_sounding_accidentals_follows_key_and_measure() -> None:
    """F is sharp in D major; a natural holds to the end of its measure, in its octave."""
    row = "".join(
        f'<note dur="4" pname="f" oct="{octave}"{sign}/>'
        for octave, sign in ((5, ""), (5, ' accid="n"'), (5, ""), (4, ""))
    )
    measure = '<measure n="{}"><staff n="1"><layer n="1">{}</layer></staff></measure>'
    data = mei(
        measure.format(1, row) + measure.format(2, row), signatures='meter.count="4" meter.unit="4" keysig="2s"'
    )
    names = [pitch_name(note.pitch) for note in read_score_bytes(data.encode(), "score").piece.notes]
    assert names == ["F#5", "F5", "F5", "F#4"] * 2


def test_an_octave_sign_is_read_as_it_sounds() -> None:
    """MusicXML gives the sounding pitch under an 8va; so do we."""
    shift = '<direction-type><octave-shift type="down" size="8"/></direction-type>'
    start = f"<direction>{shift}<staff>1</staff></direction>"
    stop = start.replace('"down"', '"stop"')
    piece = _one_measure(start + xml_note("A5", 24, 1) + stop + xml_note("A5", 24, 1))
    assert {"A5"} == {pitch_name(note.pitch) for note in piece.notes if note.hand == "right"}


@pytest.mark.parametrize(
    ("mark", "tempo"),
    [
        ('<direction><sound tempo="72"/></direction>', 72.0),
        (
            (
                "<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>60</per-minute>"
                "</metronome></direction-type></direction>"
            ),
            120.0,
        ),
        ("", None),
    ],
)
def test_tempo_is_in_quarters_a_minute_where_the_file_gives_one(mark: str, tempo: float | None) -> None:
    """A half note = 60 is 120 quarters a minute; without a mark there is no tempo."""
    assert tempo == _one_measure(mark + xml_note("C5", 24, 1) * 2).tempo


def test_kern_without_a_tempo_has_none_and_with_one_has_that() -> None:
    """No tempo is made up."""
    assert read_score_bytes(_kern_line("1c"), "score").piece.tempo is None
    assert read_score_bytes(_kern_line("*MM96", "1c"), "score").piece.tempo == 96.0
