"""Wording: every finding has its sentences in both languages, and a wrong file says where it is wrong."""

import re
from fractions import Fraction
from pathlib import Path

import pytest

from counterpane.errors import DrillError
from counterpane.listening.observations import Observation
from counterpane.listening.wording import Wording, load_wording
from counterpane.model.piece import Place
from counterpane.resources import drills_folder
from counterpane.wording import LANGUAGES, catalogue, placeholders, read_catalogue

ENGLISH = drills_folder() / "findings.en.toml"
LISTENING = Path(__file__).resolve().parents[2] / "backend" / "counterpane" / "listening"
PLACE = Place(3, Fraction(2), Fraction(9))


def _kinds(language: str) -> dict[str, str]:
    """Return both sentences of every kind of finding as one text."""
    sentences = catalogue("findings", language).sentences
    kinds = [key.removesuffix(".text") for key in sentences if key.endswith(".text")]
    parts = ("text", "octave", "next")
    return {kind: " ".join(sentences.get(f"{kind}.{part}", "") for part in parts) for kind in kinds}


def test_both_languages_have_the_same_findings_with_the_same_numbers() -> None:
    """A kind, and every number it names, stands in both files; articles and grammar may use other words."""
    english, german = (_kinds(language) for language in LANGUAGES)
    assert english.keys() == german.keys()
    words = {"where", "hand", "alone", "measure", "beat", "end_measure"}
    for kind, sentences in english.items():
        assert placeholders(sentences) - words == placeholders(german[kind]) - words, kind


def test_every_kind_that_the_code_can_report_has_words() -> None:
    """Kinds named in the observers are found in the files, and the files hold no kind that nobody reports."""
    source = "".join(
        path.read_text("utf-8") for path in (*LISTENING.glob("findings*.py"), LISTENING / "assess.py")
    )
    unused = [kind for kind in _kinds("en") if f'"{kind}"' not in source and not _is_composed(kind)]
    assert unused == []


def _is_composed(kind: str) -> bool:
    """Kinds whose name is put together from a plan, a touch, a direction or a count."""
    planned = r"sequence_(grow|fade|steady)(_level)?|touch_(separate|joined)|praise_sequence_(grows|fades)"
    return bool(re.fullmatch(rf"{planned}|\w+_once", kind))


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_shows_a_brace(language: str) -> None:
    """Whatever a kind is given, nothing in braces is ever shown, and the sentence begins with a capital."""
    wording = load_wording(language)
    for kind in _kinds(language):
        for text in wording.say(Observation(kind, 0, 0, 1, {"times": 9}), PLACE, PLACE):
            assert not set("{}") & set(text)
            assert text[0] == text[0].upper()


def test_never_a_grade() -> None:
    """Findings judge no person: none of the words of a school report stands in the English sentences."""
    text = " ".join(_kinds("en").values()).lower()
    for word in ("bad", "poor", "fail", "grade", "points", "careless", "lazy", "excellent", "perfect"):
        assert not re.search(rf"\b{word}\b", text), word


def test_names_of_notes_follow_the_language() -> None:
    """B is H in German, and B flat is B."""
    english, german = (load_wording(language) for language in LANGUAGES)
    assert (english.pitch("B", 0), english.pitch("B", -1), english.pitch("F", 1)) == ("B", "B flat", "F sharp")
    assert (german.pitch("B", 0), german.pitch("B", -1), german.pitch("F", 1)) == ("H", "B", "Fis")


def test_the_right_note_in_the_wrong_octave_is_said_as_such() -> None:
    """Never "G instead of G": the octave is what was wrong, and which way."""
    pitches = {"written": ("G", 0), "played": ("G", 0)}
    for semitones, english, german in (
        (-12, "an octave too low", "eine Oktave zu tief"),
        (24, "two octaves too high", "zwei Oktaven zu hoch"),
    ):
        seen = Observation("wrong_note_once", 0, 0, 1, {"semitones_off": semitones}, "left", (), pitches)
        assert load_wording("en").say(seen, PLACE, PLACE)[0] == (
            f"Measure 3, beat 2: G in the left hand sounded {english}."
        )
        assert (
            load_wording("de").say(seen, PLACE, PLACE)[0] == f"Takt 3, Zählzeit 2, linke Hand: G klang {german}."
        )


def test_how_often_is_said_in_words_up_to_twelve_times() -> None:
    """Words up to twelve, digits from thirteen."""
    wording = load_wording("en")
    assert [wording.count(n) for n in (2, 7, 12, 13)] == ["twice", "seven times", "twelve times", "13 times"]


@pytest.mark.parametrize(
    ("change", "to", "message"),
    [
        ('[stumble]\ntext = "', "[stumble]\ntext = ", "not valid TOML.*line"),
        ("[stumble]\ntext", "[stumble]\ntxet", r"'stumble\.text' is missing"),
        ("{times} at the same spot", "{times at the same spot", r"stumble\.text: only .*\{times\}"),
        ('left = "left hand"', "", r"'words\.left' is missing"),
        ('counts = ["', 'count = ["', r"'counts\.0' is missing"),
    ],
)
def test_a_wrong_file_says_what_is_wrong(tmp_path: Path, change: str, to: str, message: str) -> None:
    """Each slip of the pen in the file is answered with the file, the key and what was expected."""
    text = ENGLISH.read_text("utf-8")
    assert change in text
    path = tmp_path / "findings.en.toml"
    path.write_text(text.replace(change, to, 1), "utf-8")
    with pytest.raises(DrillError, match=message) as caught:
        Wording(read_catalogue(path)).say(Observation("stumble", 0, 0, 1, {"times": 9}, "left"), PLACE, PLACE)
    assert caught.value.file == "findings.en.toml"


def test_a_kind_without_words_is_refused() -> None:
    """A finding that has no table is an error that names the sentence to add."""
    with pytest.raises(DrillError, match=r"'unheard_of\.text' is missing"):
        load_wording("en").say(Observation("unheard_of", 0, 0, 1, {}), PLACE, PLACE)


@pytest.mark.parametrize(
    ("semitones", "english", "german"),
    [
        (1, "a semitone", "einen Halbton"),
        (3, "three semitones", "drei Halbtöne"),
        (12, "an octave", "eine Oktave"),
    ],
)
def test_an_interval_has_its_name(semitones: int, english: str, german: str) -> None:
    """A piano set one semitone higher is told in the singular; an octave is called an octave."""
    heard = Observation("transposed_up", 0, 0, 66.0, {"semitones": semitones})
    for language, name in (("en", english), ("de", german)):
        text, _ = load_wording(language).say(heard, PLACE, PLACE)
        assert name in text


def test_a_percent_sign_stays_with_its_number() -> None:
    """The space between them does not break a line."""
    assert "50\u00a0%" in catalogue("steps").say("alone-slow.instruction", percent=50)
