"""Pictures: what is drawn is told in words too, hands are told apart by shape, and a phone can show it."""

import pytest
from defusedxml.ElementTree import fromstring

from counterpane.listening.assess import assess
from counterpane.listening.pictures import Picture, attempt_pictures
from counterpane.listening.pictures_history import AttemptPoint, attempts_over_time
from counterpane.model.practice import Passage
from tests.listening.measures.playing import analysis_of, jitter, performance_of, piece_of, play, sequence_of

SVG = "{http://www.w3.org/2000/svg}"
LINE = "C5:1/2 D5:1/2 E5:1/2 F5:1/2 G5:1/2 F5:1/2 E5:1/2 D5:1/2 " * 6
BASS = "C3:1 G3:1 E3:1 G3:1 " * 6


def _pictures(language: str = "en") -> tuple[Picture, ...]:
    piece = piece_of(LINE, BASS)
    analysis = analysis_of(sequences=(sequence_of(piece, *(f"r{n}" for n in range(16))),))
    keys = play(
        piece,
        72,
        late_ms=lambda note: shake(note) + (700 if note.onset >= 13 else 0),
        velocity=lambda note: round(56 + float(note.onset)),
    )
    played = performance_of(keys)
    assessment = assess(piece, analysis, Passage(1, 6, "both", 72), played)
    return attempt_pictures(piece, analysis, assessment, played, language=language)


shake = jitter(25, 4)


def test_an_attempt_has_its_three_sorts_of_picture() -> None:
    """Timing, the loudness of the one sequence, tempo."""
    assert [picture.kind for picture in _pictures()] == ["timing", "loudness", "tempo"]


@pytest.mark.parametrize("number", range(3))
def test_every_picture_is_an_svg_for_a_phone_with_its_words(number: int) -> None:
    """Drawn 390 wide, as large as the page has room, text 12 px and more at 360; its words stand inside."""
    picture = _pictures()[number]
    root = fromstring(picture.svg)
    assert root.tag == f"{SVG}svg"
    assert root.attrib["viewBox"].split()[2] == "390"
    assert not {"width", "height"} & set(root.attrib)
    assert root.find(f"{SVG}title") is not None
    assert root.findtext(f"{SVG}desc") == picture.text
    assert root.attrib["role"] == "img"
    sizes = {int(text.attrib["font-size"]) for text in root.iter(f"{SVG}text")}
    assert min(sizes) * 360 / 390 >= 12


def test_hands_are_told_apart_without_colour() -> None:
    """Every right-hand note is a disc, every left-hand note a square; as many as could be measured."""
    root = fromstring(_pictures()[0].svg)
    discs = list(root.iter(f"{SVG}circle"))
    squares = [shape for shape in root.iter(f"{SVG}rect") if shape.attrib["width"] == "5.6"]
    assert (len(discs), len(squares)) == (48, 24)
    assert len({shape.attrib["fill"] for shape in discs} & {shape.attrib["fill"] for shape in squares}) == 0


def test_nothing_in_a_picture_needs_styles_scripts_or_the_network() -> None:
    """The strictest content policy can show every picture, light or dark: text takes the page's own colour."""
    for picture in _pictures():
        root = fromstring(picture.svg)
        tags = {shape.tag.removeprefix(SVG) for shape in root.iter()}
        assert tags <= {"svg", "title", "desc", "line", "rect", "circle", "polyline", "text"}
        assert not any("style" in shape.attrib or "href" in shape.attrib for shape in root.iter())
        assert {text.attrib["fill"] for text in root.iter(f"{SVG}text")} == {"currentColor"}


def test_everything_drawn_lies_on_the_sheet() -> None:
    """No point lies outside the frame, however late a note was."""
    for picture in _pictures():
        root = fromstring(picture.svg)
        width, height = (float(side) for side in root.attrib["viewBox"].split()[2:])
        for shape in root.iter():
            for key in ("cx", "x1", "x2"):
                assert 0 <= float(shape.attrib.get(key, 0)) <= width
            for key in ("cy", "y1", "y2"):
                assert 0 <= float(shape.attrib.get(key, 0)) <= height


def test_words_follow_the_language() -> None:
    """The German picture tells the same in German."""
    assert "Takt" in _pictures("de")[0].text
    assert "von 48 Tönen" in _pictures("de")[0].text


def test_attempts_over_time_show_first_and_last() -> None:
    """Five attempts, one without a figure for evenness: three rows, first and last in words."""
    points = [
        AttemptPoint("2 March", 0.8, 41, 0.5),
        AttemptPoint("3 March", 0.9, None, 0.5),
        AttemptPoint("4 March", 0.95, 30, 0.6),
        AttemptPoint("6 March", 1.0, 24, 0.7),
        AttemptPoint("9 March", 0.98, 22, 0.8),
    ]
    picture = attempts_over_time(points)
    assert picture is not None
    assert "Notes as written: 80\u00a0% at first, 98\u00a0% now, 5 attempts." in picture.text
    assert "Unevenness: 41 ms at first, 22 ms now, 4 attempts." in picture.text
    root = fromstring(picture.svg)
    assert len(list(root.iter(f"{SVG}circle"))) == 5 + 4 + 5
    assert len(list(root.iter(f"{SVG}polyline"))) == 3


def test_no_attempt_measured_no_picture() -> None:
    """Attempts that were only judged by hand have nothing to draw."""
    assert attempts_over_time([]) is None
    assert attempts_over_time([AttemptPoint("2 March", None, None, None)]) is None
