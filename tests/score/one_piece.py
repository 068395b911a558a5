"""One short piece, made for these tests, in every format that is read.

D minor, 3/4, a quarter's pickup; a tie over a barline, a triplet, accidentals, a final chord.
"""

from __future__ import annotations

from fractions import Fraction

from tests.score.midi_bytes import meta, meter, midi_file, notes, track

T = Fraction(1, 3)

Line = tuple[tuple[str, Fraction | int, Fraction | int], ...]
"""Name, onset and duration in quarters."""

RIGHT: Line = (
    ("A4", 0, 1), ("D5", 1, Fraction(1, 2)), ("E5", Fraction(3, 2), Fraction(1, 2)), ("F5", 2, 1),
    ("E5", 3, Fraction(3, 2)), ("G5", Fraction(9, 2), Fraction(1, 2)), ("F5", 5, T), ("E5", 5 + T, T),
    ("D5", 5 + 2 * T, T), ("C#5", 6, 1), ("D5", 7, 2),
)  # fmt: skip
LEFT: Line = (("D3", 1, 1), ("F3", 3, 1), ("A3", 4, 2), ("A2", 6, 1), ("D3", 7, 2), ("A3", 7, 2))

KERN = """!!!OTL: Short piece
!!!COM: Nobody
**kern	**kern
*clefF4	*clefG2
*k[b-]	*k[b-]
*d:	*d:
*M3/4	*M3/4
4r	4a
=1	=1
4D	8dd
.	8ee
4r	4ff
4F	[4ee
=2	=2
2A	8ee]
.	8gg
.	12ff
.	12ee
.	12dd
4AA	4cc#
=3	=3
2D 2A	2dd
==	==
*-	*-
"""

ABC = """X:1
T:Short piece
C:Nobody
M:3/4
L:1/8
%%score {1 | 2}
K:Dm
V:1 clef=treble
A2 | d e f2 e2- | e g (3fed ^c2 | d4 |]
V:2 clef=bass
z2 | D,2 z2 F,2 | A,4 A,,2 | [D,A,]4 |]
"""


def _mei_notes(text: str) -> str:
    """Write "4 a4" (value, name and octave) words as MEI notes; "r" rests, "c#5", "~" a tie begins, "_" ends."""
    out = []
    for word in text.split():
        value, name = word.split(":")
        if name == "r":
            out.append(f'<rest dur="{value}"/>')
            continue
        tie = ' tie="i"' if name.endswith("~") else ' tie="t"' if name.endswith("_") else ""
        name = name.rstrip("~_")
        accidental = ' accid="s"' if "#" in name else ' accid.ges="n"'
        out.append(f'<note dur="{value}" pname="{name[0]}" oct="{name[-1]}"{accidental}{tie}/>')
    return "".join(out)


def _mei_measure(number: int, right: str, left: str) -> str:
    return (
        f'<measure n="{number}"><staff n="1"><layer n="1">{right}</layer></staff>'
        f'<staff n="2"><layer n="1">{left}</layer></staff></measure>'
    )


_TRIPLET = f'<tuplet num="3" numbase="2">{_mei_notes("8:f5 8:e5 8:d5")}</tuplet>'
_FINAL = '<chord dur="2"><note pname="d" oct="3"/><note pname="a" oct="3"/></chord>'


def mei(
    measures: str, *, staves: int = 1, header: str = "", signatures: str = 'meter.count="4" meter.unit="4"'
) -> str:
    """Return an MEI file with one keyboard part around some measures."""
    clefs = [("G", 2), ("F", 4)]
    defined = "".join(
        f'<staffDef n="{n}" lines="5" clef.shape="{shape}" clef.line="{line}"/>'
        for n, (shape, line) in enumerate(clefs[:staves], 1)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0">'
        f"<meiHead><fileDesc><titleStmt>{header}</titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
        f'<scoreDef {signatures}><staffGrp symbol="brace">{defined}</staffGrp></scoreDef>'
        f"<section>{measures}</section></score></mdiv></body></music></mei>"
    )


MEI = mei(
    _mei_measure(0, _mei_notes("4:a4"), _mei_notes("4:r"))
    + _mei_measure(1, _mei_notes("8:d5 8:e5 4:f5 4:e5~"), _mei_notes("4:d3 4:r 4:f3"))
    + _mei_measure(2, _mei_notes("8:e5_ 8:g5") + _TRIPLET + _mei_notes("4:c#5"), _mei_notes("2:a3 4:a2"))
    + _mei_measure(3, _mei_notes("2:d5"), _FINAL),
    staves=2,
    header='<title>Short piece</title><respStmt><persName role="composer">Nobody</persName></respStmt>',
    signatures='meter.count="3" meter.unit="4" keysig="1f" key.mode="minor"',
)

_TYPES = {12: "quarter", 6: "eighth", 24: "half", 4: "eighth"}


def xml_note(name: str, duration: int, staff: int, extra: str = "", *, chord: bool = False) -> str:
    """One MusicXML note with 12 divisions a quarter; "r" is a rest; `extra` comes after the type."""
    pitch = "<rest/>"
    if name != "r":
        alter = "<alter>1</alter>" if "#" in name else "<alter>-1</alter>" if "b" in name[1:] else ""
        pitch = f"<pitch><step>{name[0]}</step>{alter}<octave>{name[-1]}</octave></pitch>"
    triplet = (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
        if duration == 4
        else ""
    )
    voice = 1 if staff == 1 else 5
    return (
        f"<note>{'<chord/>' if chord else ''}{pitch}<duration>{duration}</duration>"
        f"<voice>{voice}</voice>"
        f"<type>{_TYPES[duration]}</type>{triplet}<staff>{staff}</staff>{extra}</note>"
    )


def xml_measure(number: str, right: str, left: str, length: int, attributes: str = "") -> str:
    back = f"<backup><duration>{length}</duration></backup>"
    return f'<measure number="{number}">{attributes}{right}{back}{left}</measure>'


def musicxml(measures: str, part_list: str = "") -> str:
    """Return a MusicXML file with one keyboard part, or with the parts in `part_list`."""
    parts = part_list or '<score-part id="P1"><part-name>Piano</part-name></score-part>'
    body = measures if part_list else f'<part id="P1">{measures}</part>'
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<!DOCTYPE score-partwise PUBLIC '
        '"-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">\n'
        '<score-partwise version="4.0"><work><work-title>Short piece</work-title></work>'
        '<identification><creator type="composer">Nobody</creator></identification>'
        f"<part-list>{parts}</part-list>{body}</score-partwise>"
    )


def attributes(fifths: int = 0, beats: int = 4, beat_type: int = 4, mode: str = "") -> str:
    named = f"<mode>{mode}</mode>" if mode else ""
    return (
        f"<attributes><divisions>12</divisions><key><fifths>{fifths}</fifths>{named}</key>"
        f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time><staves>2</staves>"
        '<clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef>'
        "</attributes>"
    )


_STARTS = '<notations><tied type="start"/></notations>'
_STOPS = '<notations><tied type="stop"/></notations>'
_OPENS = '<notations><tuplet type="start"/></notations>'
_CLOSES = '<notations><tuplet type="stop"/></notations>'
MUSICXML = musicxml(
    xml_measure("0", xml_note("A4", 12, 1), xml_note("r", 12, 2), 12, attributes(-1, 3, 4, "minor"))
    + xml_measure(
        "1",
        xml_note("D5", 6, 1) + xml_note("E5", 6, 1) + xml_note("F5", 12, 1) + xml_note("E5", 12, 1, _STARTS),
        xml_note("D3", 12, 2) + xml_note("r", 12, 2) + xml_note("F3", 12, 2),
        36,
    )
    + xml_measure(
        "2",
        xml_note("E5", 6, 1, _STOPS) + xml_note("G5", 6, 1) + xml_note("F5", 4, 1, _OPENS) + xml_note("E5", 4, 1)
        + xml_note("D5", 4, 1, _CLOSES) + xml_note("C#5", 12, 1),
        xml_note("A3", 24, 2) + xml_note("A2", 12, 2),
        36,
    )
    + xml_measure("3", xml_note("D5", 24, 1), xml_note("D3", 24, 2) + xml_note("A3", 24, 2, chord=True), 24)
)  # fmt: skip

_MIDI_NUMBERS = {
    "A4": 69,
    "D5": 74,
    "E5": 76,
    "F5": 77,
    "G5": 79,
    "C#5": 73,
    "D3": 50,
    "F3": 53,
    "A3": 57,
    "A2": 45,
}


def played(*hands: Line) -> list[tuple[float, float, int]]:
    return [(float(on), float(on + length), _MIDI_NUMBERS[name]) for hand in hands for name, on, length in hand]


_HEAD = [(0, meta(0x03, b"Short piece")), (0, meter(1, 2)), (480, meter(3, 2)), (0, meta(0x59, b"\xff\x01"))]
MIDI_TWO_TRACKS = midi_file(track(_HEAD), track(notes(*played(RIGHT))), track(notes(*played(LEFT))))
MIDI_ONE_TRACK = midi_file(track(_HEAD + notes(*played(RIGHT, LEFT))))
