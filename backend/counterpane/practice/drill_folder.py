"""Checks a whole folder of drills: the ladders, and that every language says everything."""

from __future__ import annotations

from pathlib import Path

from counterpane.errors import DrillError
from counterpane.practice.ladder_settings import LEVELS, PATCH_KINDS
from counterpane.practice.ladders import read_ladders
from counterpane.practice.toml_lines import key_lines, line_of
from counterpane.wording import LANGUAGES, Catalogue, placeholders, read_catalogue


def check_folder(folder: Path) -> dict[str, object]:
    """Return how many steps and sentences a folder holds; raises `DrillError` for the first fault."""
    names = sorted({path.name.partition(".")[0] for path in folder.glob(f"*.{LANGUAGES[0]}.toml")})
    if not names:
        raise DrillError(f"holds no wording (files such as steps.{LANGUAGES[0]}.toml)", file=str(folder))
    sentences = 0
    for name in names:
        first, *others = (read_catalogue(folder / f"{name}.{language}.toml") for language in LANGUAGES)
        _check_braces(first, folder)
        for other in others:
            _check_braces(other, folder)
            _compare(first, other, folder)
        sentences += len(first.sentences)
    by_language = [read_ladders(folder, language) for language in LANGUAGES]
    ladders = by_language[0]
    steps = {level: {kind: len(ladders.steps[level, kind]) for kind in PATCH_KINDS} for level in LEVELS}
    return {"folder": str(folder), "languages": list(LANGUAGES), "sentences": sentences, "steps": steps}


def _check_braces(words: Catalogue, folder: Path) -> None:
    for key, sentence in words.sentences.items():
        try:
            placeholders(sentence)
        except ValueError as error:
            raise _wrong(folder, words.file, key, f"expected names in matching braces ({error})") from None


def _compare(one: Catalogue, other: Catalogue, folder: Path) -> None:
    """Hold `other` against `one`: it has each key of `one` (and may have more), and no other names in braces."""
    known = {name for sentence in one.sentences.values() for name in placeholders(sentence)}
    for key in one.sentences:
        if key not in other.sentences:
            raise _wrong(folder, other.file, key, f"missing, expected a sentence as in {one.file}")
        extra = placeholders(other.sentences[key]) - known
        if extra:
            named = ", ".join(sorted(extra))
            raise _wrong(folder, other.file, key, f"expected only names that {one.file} has, found {named}")


def _wrong(folder: Path, file: str, key: str, message: str) -> DrillError:
    text = (folder / file).read_text(encoding="utf-8")
    line = line_of(key_lines(text), tuple(key.split(".")))
    return DrillError(f"line {line}: {key}: {message}", file=file)
