"""The words of findings: drills/findings.LANGUAGE.toml, checked and filled in.

Each kind of finding is a table with `text` and `next`; names in braces are the numbers of its evidence and the
words below. A teacher may edit them without touching code; `check_wording` says what is wrong, and where.

Words that every template may use: {where} the place, {hand} the hand with its article, {measure}, {beat},
{end_measure}, {times} ("twice"), {alone} ("the left hand alone"), {value} ("sixteenths"), {written} and {played}
the names of notes.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from counterpane.errors import DrillError
from counterpane.listening.observations import Observation
from counterpane.model.piece import Place
from counterpane.resources import drills_folder
from counterpane.wording import LANGUAGES

_FIELD = re.compile(r"\{(\w*)\}")
_REQUIRED_WORDS = (
    *("right", "left", "both", "at", "between", "from_to", "one_measure"),
    *("alone_right", "alone_left", "alone_both", "another_octave"),
)
_REQUIRED_CAPTIONS = (
    *("timing", "timing_text", "loudness", "loudness_text", "tempo", "tempo_text", "attempts", "attempts_text"),
    *("accuracy", "evenness", "tempo_share", "short_right", "short_left"),
)


@dataclass(frozen=True)
class Wording:
    """One language's sentences: `kinds` maps a kind to (text, next step), `words` and `pitches` what they use."""

    language: str
    words: Mapping[str, str]
    counts: tuple[str, ...]
    pitches: Mapping[str, str]
    kinds: Mapping[str, tuple[str, str]]
    pictures: Mapping[str, str]
    values: Mapping[str, str]

    def say(self, observation: Observation, start: Place, end: Place) -> tuple[str, str]:
        """Return text and next step of an observation; raises `DrillError` for a kind without words."""
        if observation.kind not in self.kinds:
            raise DrillError(
                f'there is no table [{observation.kind}]; add it with "text" and "next"',
                file=f"findings.{self.language}.toml",
            )
        filled = self._fields(observation, start, end)
        text, following = self.kinds[observation.kind]
        return _fill(text, filled), _fill(following, filled)

    def _fields(self, observation: Observation, start: Place, end: Place) -> dict[str, str]:
        numbers = {key: _plain(value) for key, value in observation.evidence.items()}
        names = {key: self.pitch(*pitch) for key, pitch in observation.pitches.items()}
        if "played" in names and names["played"] == names.get("written"):
            names["played"] = self.words["another_octave"].format(note=names["played"])
        times = observation.evidence.get("times", 0)
        return (
            numbers
            | names
            | {
                "where": self.where(start, end),
                "hand": self.words[observation.hand or "both"],
                "alone": self.words[f"alone_{observation.hand or 'both'}"],
                "measure": str(start.measure),
                "beat": _beat(start.beat),
                "end_measure": str(end.measure),
                "times": self.count(int(times)),
                "value": self._value(numbers.get("quarters", "")),
            }
        )

    def pitch(self, step: str, alter: int) -> str:
        """Return the name of a pitch class, for example "F sharp" or "Fis"."""
        sign = "#" * alter if alter > 0 else "b" * -alter
        return self.pitches.get(step + sign, step + sign)

    def count(self, number: int) -> str:
        """Return how often in words, for example "twice"."""
        return self.counts[number] if number < len(self.counts) else self.counts[0].format(number=number)

    def _value(self, quarters: str) -> str:
        return self.values.get(quarters, self.values["other"].format(quarters=quarters))

    def where(self, start: Place, end: Place) -> str:
        """Return a place, or a stretch of measures, in words."""
        if end.measure > start.measure:
            return self.words["from_to"].format(first=start.measure, last=end.measure)
        if end.offset > start.offset:
            return self.words["one_measure"].format(measure=start.measure)
        key = "at" if start.beat.denominator == 1 else "between"
        return self.words[key].format(measure=start.measure, beat=int(start.beat))


@lru_cache(maxsize=8)
def load_wording(language: str = "en") -> Wording:
    """Return the sentences of a language; raises `DrillError` for a language or a file that cannot be used."""
    if language not in LANGUAGES:
        raise DrillError(f'there are no findings in "{language}"; choose one of {", ".join(LANGUAGES)}')
    return read_wording(drills_folder() / f"findings.{language}.toml", language)


def read_wording(path: Path, language: str) -> Wording:
    """Read one file of sentences; raises `DrillError` with file, line and key when it cannot be used."""
    try:
        text = path.read_text(encoding="utf-8")
        table = tomllib.loads(text)
    except OSError as error:
        raise DrillError(f"the file cannot be opened ({error.strerror}); restore it", file=path.name) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise DrillError(f"this is not valid TOML ({error}); correct that line", file=path.name) from error
    return _checked(path, text, table, language)


def _checked(path: Path, text: str, table: dict[str, Any], language: str) -> Wording:
    words, pictures, values = (table.pop(name, {}) for name in ("words", "pictures", "values"))
    for name, group, required in (
        ("words", words, _REQUIRED_WORDS),
        ("pictures", pictures, _REQUIRED_CAPTIONS),
        ("values", values, ("other",)),
    ):
        for word in required:
            if not isinstance(group, dict) or not isinstance(group.get(word), str):
                raise _wrong(path, text, name, f'expected a text called "{word}"')
    pitches, counts = table.pop("pitches", {}), table.pop("counts", [])
    if len(counts) < 3 or not all(isinstance(count, str) for count in counts):
        raise _wrong(path, text, "counts", 'expected a list of texts: "{number} times", "once", "twice" …')
    kinds = {kind: _sentences(path, text, kind, sentences) for kind, sentences in table.items()}
    return Wording(language, words, tuple(counts), pitches, kinds, pictures, values)


def fields_of(template: str) -> frozenset[str]:
    """Return the names in braces of a template."""
    return frozenset(_FIELD.findall(template))


def _sentences(path: Path, text: str, kind: str, table: object) -> tuple[str, str]:
    if not isinstance(table, dict):
        raise _wrong(path, text, kind, f'expected a table [{kind}] with "text" and "next"')
    for key in ("text", "next"):
        if not isinstance(table.get(key), str) or not table[key].strip():
            raise _wrong(path, text, kind, f'expected a sentence called "{key}" in [{kind}]')
        if "{" in _FIELD.sub("", table[key]) or "}" in _FIELD.sub("", table[key]):
            raise _wrong(
                path, text, kind, f'a brace in "{key}" of [{kind}] is not closed; write names as {{name}}'
            )
    return table["text"], table["next"]


def _wrong(path: Path, text: str, key: str, what: str) -> DrillError:
    lines = text.splitlines()
    line = next((n for n, row in enumerate(lines, 1) if row.lstrip().startswith((f"[{key}]", f"{key} "))), 1)
    return DrillError(f"line {line}: {what}", file=path.name)


def _fill(template: str, fields: Mapping[str, str]) -> str:
    """Put the fields into a template; a name that this kind does not have is left out, never shown in braces."""
    sentence = _FIELD.sub(lambda match: fields.get(match[1], ""), template)
    return sentence[:1].upper() + sentence[1:]


def _plain(value: float | str) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _beat(beat: Fraction) -> str:
    return str(beat) if beat.denominator == 1 else f"{float(beat):g}"
