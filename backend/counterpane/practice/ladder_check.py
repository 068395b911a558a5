"""Holds a ladder file against the table of settings; an error names file, line, key and what was expected."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from counterpane.errors import DrillError
from counterpane.practice.ladder_settings import PATCH_KINDS, SETTINGS
from counterpane.practice.toml_lines import Path as KeyPath
from counterpane.practice.toml_lines import key_lines, line_of

Table = Mapping[str, Any]


class LadderFile:
    """One ladder file, checked: `table` holds every setting, defaults filled in."""

    def __init__(self, path: Path, wording: Iterable[str]) -> None:
        """Read and check `path`; `wording` are the names of the step texts that exist."""
        self.name = path.name
        raw = self._read(path)
        self._lines = key_lines(self._text)
        self._wording = frozenset(wording)
        self.table = self._file(raw)

    def _read(self, path: Path) -> dict[str, Any]:
        try:
            self._text = path.read_text(encoding="utf-8")
            return tomllib.loads(self._text)
        except OSError as error:
            raise DrillError(f"cannot be read ({error.strerror}): restore the file", file=self.name) from None
        except UnicodeDecodeError:
            raise DrillError("is not a UTF-8 text file: save it as UTF-8", file=self.name) from None
        except tomllib.TOMLDecodeError as error:
            raise DrillError(_syntax(str(error), self._text), file=self.name) from None

    def wrong(self, path: KeyPath, message: str) -> DrillError:
        """Return an error that names the line and the key at `path`."""
        key = ".".join(str(part + 1) if isinstance(part, int) else part for part in path)
        return DrillError(f"line {line_of(self._lines, path)}: {key}: {message}", file=self.name)

    def _file(self, raw: Table) -> dict[str, Any]:
        table = self._checked("file", raw, ())
        table["patches"] = self._checked("patches", table["patches"], ("patches",))
        if table["patches"]["measures_when_hard"] > table["patches"]["measures_when_easy"]:
            raise self.wrong(("patches", "measures_when_hard"), "expected no more than measures_when_easy")
        table["goals"] = self._checked("goals", table["goals"], ("goals",))
        for kind in PATCH_KINDS:
            table[kind] = self._steps(table[kind], kind)
        return table

    def _checked(self, what: str, raw: Table, path: KeyPath) -> dict[str, Any]:
        settings = SETTINGS[what]
        for key, value in raw.items():
            if key not in settings:
                raise self.wrong((*path, key), _unknown(settings))
            if not settings[key].holds(value):
                raise self.wrong((*path, key), f"expected {settings[key].expected}, found {_shown(value)}")
        for key, setting in settings.items():
            if setting.required and key not in raw:
                raise self.wrong((*path, key), f"missing, expected {setting.expected}")
        return {key: raw.get(key, setting.default) for key, setting in settings.items()}

    def _steps(self, raw: list[Table], kind: str) -> list[dict[str, Any]]:
        steps = [self._step(step, (kind, index)) for index, step in enumerate(raw)]
        ids = [step["id"] for step in steps]
        for index, name in enumerate(ids):
            if name in ids[:index]:
                raise self.wrong(
                    (kind, index, "id"), f"expected a name used once in this ladder, found {_shown(name)} again"
                )
        if steps[-1]["kind"] != "play":
            raise self.wrong(
                (kind, len(steps) - 1, "kind"), 'expected "play" in the last step, which comes back later'
            )
        if steps[-1]["only_if"] is not None:
            raise self.wrong(
                (kind, len(steps) - 1, "only_if"), "expected none in the last step, which always applies"
            )
        return steps

    def _step(self, raw: Table, path: KeyPath) -> dict[str, Any]:
        step = self._checked("step", raw, path)
        if step["heard"] == "other" and step["hands"] == "both":
            raise self.wrong((*path, "heard"), 'expected "none" or "both" where both hands play, found "other"')
        step["wording"] = step["wording"] or step["id"]
        if step["wording"] not in self._wording:
            close = get_close_matches(step["wording"], self._wording, 1)
            near = f" (did you mean {_shown(close[0])}?)" if close else ""
            where = "wording" if "wording" in raw else "id"
            raise self.wrong(
                (*path, where), f"expected a text that steps.en.toml holds, found {_shown(step['wording'])}{near}"
            )
        if step["only_if"] is not None:
            step["only_if"] = self._checked("only_if", step["only_if"], (*path, "only_if"))
        if step["goals"] is not None:
            step["goals"] = self._checked("goals", step["goals"], (*path, "goals"))
        return step


def _unknown(settings: Mapping[str, object]) -> str:
    return f"no such setting, expected one of {', '.join(sorted(settings))}"


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _syntax(message: str, text: str) -> str:
    """Reword the parser's message so that it names the line, and the key where the line holds one."""
    match = re.search(r"^(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", message)
    if match is None:
        return f"is not valid TOML: {message}"
    number = int(match[2] or len(text.splitlines()))
    lines = text.splitlines()
    key = lines[number - 1].partition("=")[0].strip() if 0 < number <= len(lines) else ""
    named = f"{key}: " if key else ""
    return f"line {number}: {named}expected valid TOML, found: {match[1][0].lower()}{match[1][1:]}"
