"""Every sentence of every catalogue with 0, 1, 2 and 13 in place of each number: one note, two notes, 13 notes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from counterpane.resources import drills_folder
from counterpane.wording import LANGUAGES, Catalogue, catalogue, placeholders, read_catalogue

NAMES = sorted({path.name.partition(".")[0] for path in drills_folder().glob("*.toml")} - {"ladders"})
NUMBERS = (0, 1, 2, 13)
# What is counted anywhere: one of it, and several (in every case of the language).
SINGULAR = {
    "en": r"""attack attempt beat day entry key leap measure minute note ornament pass place quarter(?!\snote)
    second semitone step thousandth try""",
    "de": """Anschlag Durchgang Einsatz Halbton Minute Note Sekunde Sprung Stelle Stufe Tag Takt Taste
    Tausendstelsekunde Ton Verzierung Versuch""",
}
PLURAL = {
    "en": """attacks attempts beats days entries keys leaps measures minutes notes ornaments passes places quarters
    seconds semitones steps thousandths times tries""",
    "de": """Anschläge Anschlägen Durchgänge Durchgängen Einsätze Einsätzen Halbtöne Halbtönen Minuten Noten
    Sekunden Sprünge Sprüngen Stellen Stufen Tage Tagen Takte Takten Tasten Tausendstelsekunden Töne Tönen Vierteln
    Verzierungen Versuche Versuchen""",
}
ONE = {"en": "1|one", "de": "1|ein|eine|einem|einen|einer"}
SEVERAL = {"en": "0|2|13|no|two", "de": "0|2|13|zwei"}
# These stand beside a form for one, and are asked for from two on.
FROM_TWO = re.compile(r"(many|later|counts\.0)$")


def _wrong(language: str, text: str) -> list[str]:
    """Return where a number and what it counts do not agree; one adjective may stand between."""
    one, several = (rf"(?:{'|'.join(words[language].split())})" for words in (SINGULAR, PLURAL))
    rules = (
        rf"\b(?:{ONE[language]}) (?:\w+ )?{several}\b",
        rf"\b(?:{SEVERAL[language]}) (?:\w+ )?{one}\b",
        rf"\b(?:{ONE[language]}) {one}(?: \w+){{0,3}} (?:were|are|haben|wurden)\b",
        r"\b(?:1|zwei)-mal\b",
    )
    return [found for rule in rules for found in re.findall(rule, text)]


def _filled(words: Catalogue, key: str, number: int) -> str:
    return words.say(key, **dict.fromkeys(placeholders(words.sentences[key]), number))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_numbers_agree_with_what_they_count(name: str, language: str) -> None:
    """Never "1 notes" and never "2 note", whatever a teacher's catalogue is asked to say."""
    words = catalogue(name, language)
    for key, sentence in words.sentences.items():
        if placeholders(sentence):
            for number in NUMBERS:
                if number > 1 or not FROM_TWO.search(key):
                    text = _filled(words, key, number)
                    assert _wrong(language, text) == [], (key, text)


def test_a_wrong_form_would_be_seen() -> None:
    """The rule of this table finds what it looks for."""
    for text in (
        "A pause of 1 seconds.",
        "too few of the 1 keys",
        "1 wrong notes",
        "no note",
        "one keys",
        "1 note of it were",
    ):
        assert _wrong("en", text), text
    for text in ("1 falsche Töne", "an 1 Stellen", "2 Takt", "1-mal", "zwei-mal", "einem Tönen"):
        assert _wrong("de", text), text


def test_the_form_follows_the_number(tmp_path: Path) -> None:
    """One form is said of one, the other of any other number; numbers are words where there is a list of them."""
    path = tmp_path / "words.en.toml"
    path.write_text(
        'numbers = ["no", "one", "two"]\nheard = "{count:# key|# keys} in {seconds:# second|# seconds}"\n'
    )
    words = read_catalogue(path)
    assert words.say("heard", count=0, seconds="1") == "no keys in one second"
    assert words.say("heard", count=1, seconds=1.5) == "one key in 1.5 seconds"
    assert words.say("heard", count=2, seconds=13) == "two keys in 13 seconds"
