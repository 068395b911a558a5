"""Sentences for people, kept out of the code: one catalogue a subject and language, in drills/NAME.LANGUAGE.toml.

A catalogue is a TOML file of tables of sentences. `{name}` in a sentence is filled in with a value; of
`{name:# note|# notes}` the first form is said of one, the second of any other number, and # is that number: a word
where the catalogue has a list of `numbers`, which begins at none. A teacher may reword every sentence; what must
stay are the keys and the names in braces.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Any

from counterpane.errors import DrillError
from counterpane.resources import drills_folder

LANGUAGES = ("en", "de")


@dataclass(frozen=True)
class Catalogue:
    """The sentences of one file by dotted key, for example `plan.rest_day`."""

    file: str
    sentences: Mapping[str, str]

    def __contains__(self, key: str) -> bool:
        return key in self.sentences

    def say(self, key: str, /, **values: object) -> str:
        """Return the sentence `key` with `values` filled in; raises `DrillError` when the file lacks either."""
        return self.fill(key, values)

    def fill(self, key: str, values: Mapping[str, object]) -> str:
        """Return what `say` does, from a mapping, which may know how to fill in names that it does not hold."""
        sentence = self.sentences.get(key)
        if sentence is None:
            raise DrillError(f"the sentence {key!r} is missing: add it, as a string", file=self.file)
        try:
            # A number and its % sign stay together at the end of a line.
            return _Forms(self.sentences).vformat(sentence, (), values).replace(" %", "\u00a0%")
        except (KeyError, IndexError, ValueError) as error:
            names = ", ".join(f"{{{name}}}" for name in values)
            raise DrillError(
                f"{key}: only {names or 'no names'} can be filled in, not {error}", file=self.file
            ) from None


class _Forms(Formatter):
    """Fills in names, and chooses between the two forms after a name by its number."""

    def __init__(self, sentences: Mapping[str, str]) -> None:
        self._sentences = sentences

    def format_field(self, value: Any, format_spec: str) -> str:
        """Return the form for a value, or what the base class does where there are no forms."""
        one, forms, other = format_spec.partition("|")
        if not forms:
            return str(super().format_field(value, format_spec))
        number = str(value)
        return (one if number == "1" else other).replace("#", self._sentences.get(f"numbers.{number}", number))


def catalogue(name: str, language: str = "en", folder: Path | None = None) -> Catalogue:
    """Read the catalogue `name` in `language`; raises `DrillError` where it is missing or damaged."""
    check_language(language)
    return _remembered((folder or drills_folder()) / f"{name}.{language}.toml")


def check_language(language: str) -> str:
    """Return `language` when there is wording in it, else raise `DrillError`."""
    if language not in LANGUAGES:
        raise DrillError(f"there is no wording in the language {language!r}: choose one of {', '.join(LANGUAGES)}")
    return language


def placeholders(sentence: str) -> frozenset[str]:
    """Return the names in braces; raises `ValueError` when the braces do not match."""
    return frozenset(field for _, field, _, _ in Formatter().parse(sentence) if field is not None)


@cache
def _remembered(path: Path) -> Catalogue:
    return read_catalogue(path)


def read_catalogue(path: Path) -> Catalogue:
    """Read one file of sentences anew; raises `DrillError` where it is missing or damaged."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise DrillError(f"cannot be read ({error.strerror}): restore the file", file=path.name) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise DrillError(f"is not valid TOML: {error}", file=path.name) from None
    return Catalogue(path.name, dict(_flatten(table, "", path.name)))


def _flatten(table: Mapping[str, object], prefix: str, file: str) -> Iterator[tuple[str, str]]:
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _flatten(value, f"{prefix}{key}.", file)
        elif isinstance(value, str):
            yield prefix + key, value
        elif isinstance(value, list):
            # Forms that a number chooses from, for example "once", "twice": key.0, key.1 …
            yield from _flatten({str(number): form for number, form in enumerate(value)}, f"{prefix}{key}.", file)
        else:
            raise DrillError(f"{prefix}{key}: expected a sentence in quotes, found {value!r}", file=file)
