"""Ladders: graded steps read from files that a teacher may edit, with exact errors."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from counterpane.errors import DrillError
from counterpane.model.practice import Difficulty, Level, Patch, PatchKind
from counterpane.practice.difficulty_parts import PARTS
from counterpane.practice.drill_folder import check_folder
from counterpane.practice.ladder_settings import (
    FIRST_PASSES,
    HEARD,
    LEVELS,
    PATCH_KINDS,
    SETTINGS,
    STEP_KINDS,
    VARIATIONS,
)
from counterpane.practice.ladders import ladder_for, load_ladders, read_ladders
from counterpane.practice.toml_lines import key_lines
from counterpane.resources import drills_folder
from counterpane.wording import catalogue, read_catalogue

README = drills_folder() / "README.md"


def patch(kind: PatchKind = "patch", speed: float = 0.5) -> Patch:
    hard = Difficulty(5.0, (("speed", speed, ""),))
    return Patch("p1", kind, "A1", 1, 4, hard, hard, hard, "")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a copy of the drills that a test may spoil."""
    return Path(shutil.copytree(drills_folder(), tmp_path / "drills"))


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("kind", PATCH_KINDS)
def test_every_ladder_is_complete(level: Level, kind: PatchKind, language: str) -> None:
    """Each step has hands, a tempo, repetitions and four sentences; the last is both hands in tempo."""
    ladder = ladder_for(patch(kind), level, load_ladders(language=language))
    assert ladder.steps
    for step in ladder.steps:
        assert 0 < step.tempo_share <= 1
        assert step.repetitions >= 1
        for text in (step.title, step.instruction, step.step_up, step.step_back):
            assert text.strip()
            assert "{" not in text
        assert step.kind != "play" or step.goals.accuracy is not None
        assert step.hands == "both" or step.goals.togetherness_ms is None
    last = ladder.steps[-1]
    assert (last.kind, last.hands, last.tempo_share) == ("play", "both", 1.0)


@pytest.mark.parametrize("level", LEVELS)
def test_a_patch_is_climbed_in_the_order_of_the_trade(level: Level) -> None:
    """Hear it and find the entries; each hand alone; one hand with the other heard; together; in tempo."""
    steps = ladder_for(patch(), level).steps
    kinds = [
        "hear" if s.kind == "listen" else "find" if s.kind == "puzzle" else
        "with" if s.heard == "other" else "alone" if s.hands != "both" else "together"
        for s in steps
    ]  # fmt: skip
    order = ["hear", "find", "alone", "with", "together"]
    assert [kind for index, kind in enumerate(kinds) if kind not in kinds[:index]] == order
    assert kinds == sorted(kinds, key=order.index)


def test_goals_grow_with_the_level() -> None:
    """More notes right, more even and more together from level to level."""
    lasts = [ladder_for(patch(), level).steps[-1].goals for level in LEVELS]
    for name, sign in (("accuracy", 1), ("evenness_ms", -1), ("togetherness_ms", -1)):
        values = [getattr(goals, name) for goals in lasts]
        assert values == sorted(values, key=lambda value: sign * value)
        assert len(set(values)) == 3


def test_steps_that_serve_quick_passages_are_left_out_of_slow_ones() -> None:
    """A slow patch has no dotted rhythms, a quick one has."""
    slow, quick = (ladder_for(patch(speed=speed), "intermediate") for speed in (0.0, 0.9))
    assert not any(step.variation == "long-short" for step in slow.steps)
    assert any(step.variation == "long-short" for step in quick.steps)


def test_each_variation_is_used_somewhere() -> None:
    """Dotted rhythms, moved accents, closed eyes and any statement all occur in the ladders."""
    used = {rated.step.variation for steps in load_ladders().steps.values() for rated in steps}
    assert used == {None, *VARIATIONS}


ERRORS = [
    # (what is spoilt, by what, the key that is named, what is said of it)
    (
        'hands = "right"',
        'hands = "rigth"',
        "patch.3.hands",
        'expected one of "right", "left", "both", found "rigth"',
    ),
    ('level = "early"', 'level = "expert"', "level", 'expected one of "early", "intermediate", "advanced", found'),
    ('level = "early"', 'level = "advanced"', "level", 'expected "early", as the file is called'),
    (
        "tempo_share = 0.5",
        'tempo_share = "half"',
        "patch.3.tempo_share",
        "expected a number from 0.1 to 1.2, found",
    ),
    ("tempo_share = 0.5", "tempo_share = 5", "patch.3.tempo_share", "expected a number from 0.1 to 1.2, found 5"),
    (
        "repetitions = 3",
        "repetitions = 2.5",
        "patch.3.repetitions",
        "expected a whole number from 1 to 20",
    ),
    (
        "repetitions = 3",
        "repetitions = true",
        "patch.3.repetitions",
        "expected a whole number from 1 to 20, found",
    ),
    (
        'kind = "listen"',
        'kind = "hear"',
        "patch.1.kind",
        'expected one of "listen", "puzzle", "play", found',
    ),
    ('kind = "listen"', "", "patch.1.kind", 'missing, expected one of "listen"'),
    ('kind = "listen"', 'kinds = "listen"', "patch.1.kinds", "no such setting, expected one of after_a_night"),
    (
        'id = "find"',
        'id = "listen"',
        "patch.2.id",
        "expected a name used once in this ladder, found",
    ),
    ('id = "find"', 'id = "Find it"', "patch.2.id", "expected a name of small letters"),
    (
        'wording = "alone-slow"',
        'wording = "alone-slwo"',
        "patch.3.wording",
        "expected a text that steps.en.toml",
    ),
    ('wording = "alone-slow"', 'wording = "alone-slwo"', "patch.3.wording", 'did you mean "alone-slow"?'),
    ("accuracy = 0.9\n", "accuracy = 90\n", "goals.accuracy", "expected a number from 0.5 to 1, found 90"),
    ("when_hard = 1", "when_hard = 9", "patches.measures_when_hard", "expected no more than measures_when_easy"),
    ('part = "speed"', 'part = "tempo"', "patch.5.only_if.part", 'expected one of "speed", "leaps"'),
    ("[[whole]]", "[[entire]]", "entire", "no such setting, expected one of"),
    ('heard = "both"', 'heard = "other"', "patch.1.heard", 'expected "none" or "both" where both hands play'),
    ('level = "early"', 'level = "early', "level", "expected valid TOML, found: "),
    ('level = "early"', "level early", "level early", "expected valid TOML, found: expected"),
]


@pytest.mark.parametrize(("old", "new", "key", "said"), ERRORS)
def test_an_error_names_file_line_key_and_what_was_expected(
    folder: Path, old: str, new: str, key: str, said: str
) -> None:
    """Every kind of mistake gives one exact sentence."""
    path = folder / "ladders.early.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DrillError) as caught:
        read_ladders(folder)
    assert re.match(rf"ladders\.early\.toml: line \d+: {re.escape(key)}: ", str(caught.value))
    assert said in str(caught.value)


def test_the_line_is_the_line_of_the_key(folder: Path) -> None:
    """The line in the message is where the wrong key stands."""
    path = folder / "ladders.advanced.toml"
    lines = path.read_text(encoding="utf-8").splitlines()
    at = next(index for index, line in enumerate(lines) if line == 'heard = "other"')
    lines[at] = 'heard = "nobody"'
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(DrillError, match=rf"line {at + 1}: "):
        read_ladders(folder)


SPOILT: list[tuple[Callable[[Path], object], str]] = [
    (lambda f: (f / "ladders.early.toml").unlink(), r"ladders\.early\.toml: cannot be read"),
    (lambda f: (f / "ladders.early.toml").write_bytes(b'level = "\xff"'), "not a UTF-8 text file"),
    (lambda f: (f / "steps.de.toml").unlink(), r"steps\.de\.toml: cannot be read"),
    (lambda f: drop(f / "plan.de.toml", "rest_day"), r"plan\.de\.toml: line \d+: note\.rest_day: missing"),
    (
        lambda f: swap(f / "plan.de.toml", "{measures}: zuletzt", "{takte}: zuletzt"),
        r"plan\.de\.toml: line \d+: why\.due: expected only names that plan\.en\.toml has, found takte",
    ),
    (
        lambda f: swap(f / "plan.en.toml", "{measures}: last", "{measures: last"),
        r"plan\.en\.toml: line \d+: why\.due: expected names in matching braces",
    ),
    (lambda f: swap(f / "plan.en.toml", 'rest_day = "', 'rest_day = 5 # "'), "expected a sentence in quotes"),
]


@pytest.mark.parametrize(("spoil", "message"), SPOILT)
def test_a_folder_is_checked_as_a_whole(folder: Path, spoil: Callable[[Path], object], message: str) -> None:
    """Missing files, other encodings, missing sentences and unknown names are found by the check."""
    assert check_folder(folder)["languages"] == ["en", "de"]
    spoil(folder)
    with pytest.raises(DrillError, match=message):
        check_folder(folder)


def drop(path: Path, key: str) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith(key)), encoding="utf-8")


def swap(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_folder_without_drills_says_so(tmp_path: Path) -> None:
    """An empty folder is no folder of drills."""
    with pytest.raises(DrillError, match="holds no wording"):
        check_folder(tmp_path)


def test_a_level_that_does_not_exist_is_named() -> None:
    """Asking for an unknown level is one sentence."""
    with pytest.raises(DrillError, match="no level 'beginner'"):
        ladder_for(patch(), "beginner")  # type: ignore[arg-type] # a word from outside


def test_every_setting_and_choice_is_documented() -> None:
    """The page for teachers names each setting, kind, level, variation, order and part of difficulty as code."""
    page = README.read_text(encoding="utf-8")
    as_code = set(re.findall(r"`([^`]+)`", page)) | set(re.findall(r"^    (\w+) = ", page, re.MULTILINE))
    as_code |= {f"{kind}" for kind in PATCH_KINDS if f"[[{kind}]]" in page}
    as_code |= {name.strip("[]") for name in re.findall(r"\[\w+\]", page)}
    as_code |= {level for level in LEVELS if f"ladders.{level}.toml" in page}
    names = {name for settings in SETTINGS.values() for name in settings}
    choices = {*STEP_KINDS, *HEARD, *VARIATIONS, *FIRST_PASSES, *PARTS, *LEVELS, *PATCH_KINDS}
    assert (names | choices) - as_code == {"at_least"}
    assert "at_least" in page


def test_the_worked_example_works(folder: Path) -> None:
    """The step that the page for teachers adds is in order, and appears after the one it names."""
    page = README.read_text(encoding="utf-8")
    example = re.search(r"((?:    .*\n)+)\nSave, run", page)
    assert example is not None
    step = re.sub(r"^    ", "", example[1], flags=re.MULTILINE)
    path = folder / "ladders.early.toml"
    blocks = path.read_text(encoding="utf-8").split("\n\n")
    at = next(index for index, block in enumerate(blocks) if 'id = "right-long-short"' in block)
    path.write_text("\n\n".join([*blocks[: at + 1], step, *blocks[at + 1 :]]), encoding="utf-8")
    ids = [step.id for step in ladder_for(patch(), "early", read_ladders(folder)).steps]
    assert ids[ids.index("right-long-short") + 1] == "right-short-long"


def test_every_file_of_the_folder_is_documented() -> None:
    """The page lists each file."""
    page = README.read_text(encoding="utf-8")
    for path in drills_folder().glob("*.toml"):
        assert f"`{path.name}`" in page


def test_lines_of_keys_are_found_in_any_table() -> None:
    """Tables, arrays of tables, quoted keys and strings over several lines are counted right."""
    text = 'a = 1\n[t]\nb = 2\n[[s]]\nc = """\nd = 9\n"""\n[[s]]\n"x y" = 3\n'
    assert key_lines(text) == {
        ("a",): 1, ("t",): 2, ("t", "b"): 3, ("s", 0): 4, ("s", 0, "c"): 5, ("s", 1): 8, ("s", 1, "x y"): 9,
    }  # fmt: skip


def test_a_missing_sentence_or_value_is_an_error_with_the_file() -> None:
    """What the code asks for and the wording lacks is named, in both directions."""
    words = catalogue("plan")
    with pytest.raises(DrillError, match=r"plan\.en\.toml: the sentence 'note\.nothing' is missing"):
        words.say("note.nothing")
    with pytest.raises(DrillError, match=r"why\.seam: only no names can be filled in, not 'measures'"):
        words.say("why.seam")


def test_forms_that_a_number_chooses_from_are_kept_in_order(tmp_path: Path) -> None:
    """An array of sentences is read as key.0, key.1 and so on."""
    path = tmp_path / "words.en.toml"
    path.write_text('counts = ["none", "once"]\n', encoding="utf-8")
    assert read_catalogue(path).sentences == {"counts.0": "none", "counts.1": "once"}
