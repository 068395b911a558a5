"""What is no keyboard score is refused in one sentence: what, where, what to do. Nothing raw leaks."""

from __future__ import annotations

import io
import random
import re
import xml.etree.ElementTree as ET
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from counterpane.errors import ScoreError, UnreadableScore, UnsuitableScore
from counterpane.score import engrave, limits, read_score, read_score_bytes
from tests.score import one_piece
from tests.score.conftest import FORMATS
from tests.score.midi_bytes import meta, midi_file, notes, track


def _zip(**members: str | bytes) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "."), content)
    return data.getvalue()


def _bomb() -> bytes:
    return _zip(score__musicxml=b"<score-partwise>" + b" " * (limits.UNPACKED_BYTES + 10))


def _parts(*labels: str) -> bytes:
    ids = range(len(labels))
    note = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>"
    attributes = "<attributes><divisions>1</divisions></attributes>"
    listed = "".join(f'<score-part id="P{i}"><part-name>{labels[i]}</part-name></score-part>' for i in ids)
    parts = "".join(f'<part id="P{i}"><measure number="1">{attributes}{note}</measure></part>' for i in ids)
    return one_piece.musicxml(parts, listed).encode()


_UNPITCHED = one_piece.musicxml(
    '<measure number="1"><attributes><divisions>1</divisions><clef><sign>percussion</sign></clef></attributes>'
    "<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
    "<duration>4</duration><type>whole</type></note></measure>"
)
_ENTITIES = (
    '<?xml version="1.0"?><!DOCTYPE s [<!ENTITY a "x"><!ENTITY b "&a;">]><score-partwise>&b;</score-partwise>'
)
_EXTERNAL = '<?xml version="1.0"?><!DOCTYPE s [<!ENTITY a SYSTEM "file:///etc/hostname">]><score-partwise>&a;</score-partwise>'
_REPEATED = one_piece.MEI.replace('<rest dur="4"/>', "<mRpt/>", 1)
_MISSING_FIELD = one_piece.KERN.replace("4D\t8dd", "8dd")
_TOO_LONG = one_piece.KERN.replace("\t8gg", "\t2gg")
_CUT = one_piece.MIDI_TWO_TRACKS[:-30]
_FRAMES = b"MThd" + bytes([0, 0, 0, 6, 0, 0, 0, 1, 0xE7, 0x28]) + track(notes((0, 1, 60)))
_PATTERNS = midi_file(track(notes((0, 1, 60))))[:8] + b"\0\2" + midi_file(track(notes((0, 1, 60))))[10:]

BAD = {
    "empty": (b"", UnreadableScore, "empty"),
    "only spaces": (b" \n\t\n", UnreadableScore, "empty"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(64), UnreadableScore, "not a score"),
    "a letter": (b"Dear parents, please remember the recital.", UnreadableScore, "not a score"),
    "a program's source": (b"def play(score):\n    return score\n", UnreadableScore, "not a score"),
    "a web page": (b"<html><body><p>Minuet</p></body></html>", UnreadableScore, "another kind"),
    "a list of scores": (b"<opus><title>Suite</title></opus>", UnsuitableScore, "several scores"),
    "damaged XML": (one_piece.MUSICXML.encode()[:2000], UnreadableScore, r"damaged at line \d+"),
    "entity expansion": (_ENTITIES.encode(), UnreadableScore, "entities"),
    "an external entity": (_EXTERNAL.encode(), UnreadableScore, "entities"),
    "deep nesting": (b"<score-partwise>" + b"<a>" * 100_000, UnreadableScore, "deep"),
    "an unknown encoding": (b'<?xml version="1.0" encoding="klingon"?><mei/>', UnreadableScore, "encoding"),
    "a damaged zip": (FORMATS["piece.mxl"][:200], UnreadableScore, r"\.mxl\) is damaged"),
    "a zip without a score": (_zip(readme__txt="hello"), UnreadableScore, "no score"),
    "a zip bomb": (_bomb(), UnsuitableScore, "unpacks to more than"),
    "a file over the limit": (b"X:1\nK:C\n" + b"C " * (limits.FILE_BYTES // 2), UnsuitableScore, "10 MB"),
    "MusicXML without notes": (one_piece.musicxml('<measure number="1"/>').encode(), UnsuitableScore, "no notes"),
    "ABC without notes": (b"X:1\nT:Silence\nM:4/4\nK:C\nz4 |]\n", UnsuitableScore, "no notes"),
    "MIDI without notes": (midi_file(track([(0, meta(3, b"x"))])), UnsuitableScore, "no notes"),
    "Humdrum without kern": (b"**text\nla\n*-\n", UnsuitableScore, "no \\*\\*kern"),
    "percussion": (_UNPITCHED.encode(), UnsuitableScore, "percussion"),
    "MIDI percussion": (midi_file(track(notes((0, 1, 36), channel=9))), UnsuitableScore, "percussion"),
    "five parts": (_parts("1", "2", "3", "4", "5"), UnsuitableScore, "5 staves, so it is for an ensemble"),
    "a duo": (_parts("Violin", "Violoncello"), UnsuitableScore, "violin and violoncello"),
    "a song with flute": (_parts("Flute", "Piano"), UnsuitableScore, "flute"),
    "MIDI for a band": (
        midi_file(*(track(notes((0, 1, 50 + i))) for i in range(5))), UnsuitableScore, "5 parts, so",
    ),
    "MIDI with drums": (
        midi_file(track(notes((0, 1, 60))), track(notes((0, 1, 36), channel=9))), UnsuitableScore, "percussion",
    ),
    "a MIDI file cut off": (_CUT, UnreadableScore, "track 3 is cut off"),
    "a MIDI header alone": (b"MThd\0\0\0\6\0\1\0\1", UnreadableScore, "header"),
    "MIDI in film frames": (_FRAMES, UnsuitableScore, "frames"),
    "MIDI patterns": (_PATTERNS, UnsuitableScore, "format 2"),
    "MIDI bytes that make no sense": (midi_file(b"MTrk\0\0\0\4\0\x12\x34\x56"), UnreadableScore, "track 1"),
    "MIDI with a message that does not exist": (
        midi_file(track([*notes((0, 1, 60)), (0, b"\xf4")])), UnreadableScore, "track 1 breaks off",
    ),
    "MIDI with a program beyond 127": (
        midi_file(track([(0, b"\xc0\x90"), *notes((0, 1, 60))])), UnreadableScore, "track 1 breaks off",
    ),
    "a MIDI text that claims more than its track has": (
        midi_file(track([(0, b"\xff\x01\x7f"), *notes((0, 1, 60))])), UnreadableScore, "track 1 breaks off",
    ),
    "MIDI that waits for more than four bytes of ticks": (
        midi_file(track([*notes((0, 1, 60)), (480, b"\x84\x80\x80\x80\x00\x90\x40\x40")])),
        UnreadableScore, "track 1 breaks off",
    ),
    "a MIDI file over its limit": (
        midi_file(track([(0, b"\xb0\x40\x00")] * (limits.MIDI_BYTES // 4))), UnsuitableScore, "1 MB",
    ),
    "MIDI of endless length": (
        midi_file(track([*notes((0, 1, 60)), *notes((400_000, 400_001, 60))])), UnsuitableScore, "longer than",
    ),
    "an endless rest in ABC": (b"X:1\nM:4/4\nK:C\n" + b"Z999|" * 6 + b"C4|]\n", UnsuitableScore, "longer than"),
    "more ABC than anyone plays": (b"X:1\nK:C\n" + b"| " * 200_000, UnsuitableScore, "characters of music"),
    "a key for every eighth in ABC": (b"X:1\nK:C\n" + b"[K:D]c" * 5_100, UnsuitableScore, "longer than"),
    "ABC for seventeen voices": (
        b"X:1\nK:C\n" + b"".join(b"V:%d\nc4|]\n" % i for i in range(17)), UnsuitableScore, "17 voices, so",
    ),
    "kern with a missing field": (_MISSING_FIELD.encode(), UnreadableScore, r"line 10 has 1 of the 2 fields"),
    "kern that does not add up": (_TOO_LONG.encode(), UnreadableScore, "do not add up"),
    "a sign for repeating a measure": (_REPEATED.encode(), UnsuitableScore, "write the notes out"),
    "a number that is none": (
        one_piece.MUSICXML.replace("<duration>12</duration>", "<duration>soon</duration>", 1).encode(),
        UnreadableScore, r"measure 0 has a <duration>",
    ),
    "too many notes": (
        b"X:1\nM:4/4\nL:1/64\nK:C\n" + (b"CDEFGABc" * 8 + b"|\n") * 500, UnsuitableScore, "more than 30000 notes",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", sorted(BAD))
def test_bad_input_is_refused_in_one_sentence(what: str) -> None:
    """The sentence names the file, says what is wrong and what to do, and ends there."""
    data, kind, words = BAD[what]
    with pytest.raises(kind, match=words) as caught:
        read_score_bytes(data, "lesson.xyz")
    sentence = str(caught.value)
    assert sentence.startswith("lesson.xyz")
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert re.search(r"; |\. ", sentence), "it says what to do"
    assert len(sentence) < 260


def test_the_measure_is_named_where_it_is_known() -> None:
    """Kern that disagrees about time in measure 2."""
    data, kind, _ = BAD["kern that does not add up"]
    with pytest.raises(kind) as caught:
        read_score_bytes(data, "lesson.krn")
    assert caught.value.measure == 2


def test_a_path_that_cannot_be_opened_is_refused(tmp_path: Path) -> None:
    """A missing file and a folder."""
    for path in (tmp_path / "none.mxl", tmp_path):
        with pytest.raises(UnreadableScore, match="cannot be opened"):
            read_score(path)


def test_a_plain_doctype_is_no_reason_to_refuse() -> None:
    """Every MusicXML file of the older kind begins with one."""
    assert "<!DOCTYPE" in one_piece.MUSICXML
    assert read_score_bytes(one_piece.MUSICXML.encode(), "piece").piece.notes


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_encodings_of_musicxml(encoding: str) -> None:
    """With and without a byte order mark, as the XML declares it."""
    declared = {"utf-8-sig": "UTF-8", "latin-1": "ISO-8859-1"}.get(encoding, "UTF-16")
    text = one_piece.MUSICXML.replace('encoding="UTF-8"', f'encoding="{declared}"').replace(
        "Nobody", "Señora Nadie"
    )
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    assert read_score_bytes(mark + text.encode(encoding), "piece").piece.composer == "Señora Nadie"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("name", ["piece.krn", "piece.abc"])
def test_encodings_of_text_formats(name: str, encoding: str) -> None:
    """Old files carry Latin-1 names."""
    text = FORMATS[name].decode().replace("Nobody", "Señora Nadie")
    assert read_score_bytes(text.encode(encoding), name).piece.composer == "Señora Nadie"


@pytest.mark.parametrize("name", ["piece.krn", "piece.abc"])
def test_control_characters_in_text_formats_are_passed_over(name: str) -> None:
    """They would make the notation's XML invalid."""
    data = FORMATS[name].replace(b"Nobody", b"No\x01bo\x1fdy\x7f")
    assert read_score_bytes(data, name).piece.composer == "Nobody"


def _survives(data: bytes) -> None:
    """Check that reading and engraving either work or say in a sentence why not."""
    sentence = "."
    try:
        document = read_score_bytes(data, "fuzzed")
        engrave(document, hands="right")
    except ScoreError as error:
        sentence = str(error)
    assert sentence.endswith(".")
    assert "\n" not in sentence


@given(st.binary(max_size=400))
@settings(max_examples=150)
def test_random_bytes_never_leak_a_raw_error(data: bytes) -> None:
    """Whatever the bytes."""
    _survives(data)


@given(
    st.sampled_from(
        [b"MThd\0\0\0\6\0\1\0\2\1\xe0MTrk\0\0\0\x40", b"**kern\n", b"X:1\nK:C\n", b"<mei>", b"PK\3\4"]
    ),
    st.binary(max_size=200),
)
@settings(max_examples=100)
def test_random_bytes_behind_a_good_beginning_never_leak_a_raw_error(start: bytes, rest: bytes) -> None:
    """A file that only begins like a score."""
    _survives(start + rest)


@given(st.sampled_from(sorted(FORMATS)), st.integers(0, 2**32), st.integers(1, 6))
@settings(max_examples=120)
def test_mutated_and_truncated_scores_never_leak_a_raw_error(name: str, seed: int, changes: int) -> None:
    """Bytes changed, cut out, doubled, and the end cut off."""
    rng = random.Random(seed)
    data = bytearray(FORMATS[name])
    for _ in range(changes):
        at = rng.randrange(len(data)) if data else 0
        match rng.randrange(4):
            case 0:
                data[at : at + 1] = bytes([rng.randrange(256)])
            case 1:
                del data[at : at + rng.choice([1, 3, 40])]
            case 2:
                data[at:at] = data[at : at + rng.choice([1, 20, 200])]
            case 3 if rng.random() < 0.3:
                del data[at:]
    _survives(bytes(data))


_VALUES = ["", "0", "-1", "999999", "1e9", "3.5", "1/0", "quarter", "A", "#n1", "breve", "true", "4 4", "é"]


@given(st.sampled_from(["piece.musicxml", "piece.mei"]), st.integers(0, 2**32))
@settings(max_examples=40)
def test_well_formed_xml_with_wrong_contents_never_leaks_a_raw_error(name: str, seed: int) -> None:
    """Elements dropped, doubled and renamed, values that are none: here verovio itself would crash."""
    rng = random.Random(seed)
    root = ET.fromstring(FORMATS[name])  # noqa: S314 - our own fixture
    for _ in range(rng.randint(1, 6)):
        parents = {child: parent for parent in root.iter() for child in parent}
        element = rng.choice(list(parents))
        match rng.randrange(5):
            case 0:
                element.text = rng.choice(_VALUES)
            case 1:
                parents[element].remove(element)
            case 2:
                parents[element].append(element)
            case 3 if element.attrib:
                element.set(rng.choice(list(element.attrib)), rng.choice(_VALUES))
            case 4:
                element.tag = rng.choice(list(parents)).tag
    _survives(ET.tostring(root))
