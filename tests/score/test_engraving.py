"""Engraved notation: any measures, either hand, any width; ids kept; from any thread."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import music21
import pytest
from defusedxml.ElementTree import fromstring

from counterpane.errors import UnsuitableScore
from counterpane.model.piece import Hands, Piece
from counterpane.score import Engraving, ScoreDocument, engrave, read_score, read_score_bytes
from tests.score.conftest import FORMATS
from tests.score.one_piece import attributes, musicxml, xml_measure, xml_note

PRELUDE = Path(music21.__file__).parent / "corpus/bach/bwv846.mxl"


@pytest.fixture(scope="module")
def prelude() -> ScoreDocument:
    return read_score(PRELUDE)


def _ids(engraving: Engraving, kind: str) -> set[str]:
    return set(re.findall(rf'<g id="([^"]+)" class="{kind}"', "".join(engraving.svgs)))


def _heads(piece: Piece, hands: str, first: int, last: int) -> set[str]:
    shown = [measure for measure in piece.measures if first <= measure.number <= last]
    begin, end = shown[0].onset, shown[-1].end
    return {note.id for note in piece.notes if hands in {"both", note.hand} and begin <= note.onset < end}


@pytest.mark.parametrize("hands", ["both", "right", "left"])
@pytest.mark.parametrize(("first", "last"), [(1, 4), (5, 5), (32, 34)])
def test_a_passage_shows_its_measures_and_its_hands_notes_only(
    prelude: ScoreDocument, hands: Hands, first: int, last: int
) -> None:
    """Everything that begins in the measures is there under its id, and nothing that the other hand plays."""
    engraving = engrave(prelude, first, last, hands)
    assert {m.id for m in prelude.piece.measures if first <= m.number <= last} == _ids(engraving, "measure")
    shown = _ids(engraving, "note")
    assert _heads(prelude.piece, hands, first, last) <= shown
    others = {h for n in prelude.piece.notes if hands not in {"both", n.hand} for h in n.heads}
    assert not shown & others


def test_one_hand_alone_has_one_staff(prelude: ScoreDocument) -> None:
    """The other staff is not shown empty."""
    both, left = engrave(prelude, 1, 2), engrave(prelude, 1, 2, "left")
    assert both.svgs[0].count('class="staff"') == 4
    assert left.svgs[0].count('class="staff"') == 2


def test_a_note_drawn_on_the_other_staff_stays_with_its_hand() -> None:
    """The left hand's note inside the right hand's layer is shown with the left hand, and only there."""
    crossing = xml_note("G3", 24, 1).replace("<staff>1</staff>", "<staff>2</staff>")
    data = musicxml(xml_measure("1", xml_note("C5", 24, 1) + crossing, xml_note("r", 24, 2) * 2, 48, attributes()))
    document = read_score_bytes(data.encode(), "score")
    right, left = document.piece.notes
    assert {right.id} == _ids(engrave(document, hands="right"), "note")
    assert {left.id} == _ids(engrave(document, hands="left"), "note")


@pytest.mark.parametrize("width", [320, 390, 768, 1200])
def test_the_width_is_what_was_asked_for(prelude: ScoreDocument, width: int) -> None:
    """In CSS pixels, whatever the staff size; the page grows downwards."""
    for scale in (30, 40, 60):
        root = fromstring(engrave(prelude, 1, 8, width_px=width, staff_scale=scale).svgs[0])
        assert width == pytest.approx(float(root.get("viewBox", "0 0 0 0").split()[2]), abs=1)


def test_a_phone_gets_more_systems_than_a_page(prelude: ScoreDocument) -> None:
    """Music breaks into lines as the width asks."""
    phone = engrave(prelude, width_px=390).svgs[0].count('class="system"')
    page = engrave(prelude, width_px=1000, staff_scale=30).svgs[0].count('class="system"')
    assert phone > 2 * page


def test_pages_of_a_given_height_hold_the_whole_piece(prelude: ScoreDocument) -> None:
    """Several SVGs, each measure on one of them."""
    engraving = engrave(prelude, width_px=800, staff_scale=40, page_height_px=600)
    assert len(engraving.svgs) > 1
    assert {measure.id for measure in prelude.piece.measures} == _ids(engraving, "measure")


def test_one_line_and_hit_boxes(prelude: ScoreDocument) -> None:
    """An unbroken line for scrolling; rectangles for fingers."""
    line = engrave(prelude, 1, 8, one_line=True)
    assert line.svgs[0].count('class="system"') == 1
    assert "bounding-box" in engrave(prelude, 1, 1, hit_boxes=True).svgs[0]


def test_nothing_but_notation_is_in_the_picture() -> None:
    """No font inside, no tooltips; a metronome mark in plain characters."""
    mark = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>92</per-minute></metronome>"
        "</direction-type></direction>"
    )
    measure = xml_measure("1", mark + xml_note("C5", 24, 1) * 2, xml_note("r", 24, 2) * 2, 48, attributes())
    svg = engrave(read_score_bytes(musicxml(measure).encode(), "score")).svgs[0]
    assert "\u2669" in svg
    assert not re.search("base64|<title|<desc|Leipzig", svg)


@pytest.mark.parametrize(
    ("first", "last", "words"), [(99, None, "no measure 99"), (1, 0, "no measure 0"), (4, 2, "first")]
)
def test_measures_that_are_not_there_are_named(
    prelude: ScoreDocument, first: int, last: int | None, words: str
) -> None:
    """One sentence with the measures that there are."""
    with pytest.raises(UnsuitableScore, match=words):
        engrave(prelude, first, last)


def test_many_threads_engrave_at_once(prelude: ScoreDocument) -> None:
    """The web server's threads share one engraver; each gets its own passage, whole."""
    numbers = [1 + i % 30 for i in range(24)]
    with ThreadPoolExecutor(8) as threads:
        engravings = list(threads.map(lambda n: engrave(prelude, n, n), numbers))
    by_number = {measure.number: measure.id for measure in prelude.piece.measures}
    assert [{by_number[n]} for n in numbers] == [_ids(engraving, "measure") for engraving in engravings]


@pytest.mark.parametrize("name", sorted(FORMATS))
def test_the_same_passage_is_engraved_the_same(name: str) -> None:
    """Pictures can be cached: the same document gives the same SVG."""
    document = read_score_bytes(FORMATS[name], name)
    assert engrave(document, 1, 2) == engrave(document, 1, 2)
