"""Corrections as JSON objects, as they are stored and sent: one "kind" each, and what it needs.

| kind | further keys |
|---|---|
| subject, drop_statement | hand, start, end |
| add_statement | hand, start, end, and form ("upright" when left out) |
| relabel_statement | hand, start, end, and at least one of form, extent, likeness |
| move_boundary | first_measure of the section, to_measure |
| rename_section | first_measure of the section, label: a capital letter changes its kind, else it is a name |
| suggestion | id, decision ("accept", "edit", "drop"), text for an edited one |

`start` and `end` are {"measure", "beat"}, the places of the first and last note; further keys in them are ignored.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, cast, get_args

from counterpane.analysis.corrections import (
    AddStatement,
    ChooseSubject,
    Correction,
    DecideSuggestion,
    DropStatement,
    MoveBoundary,
    RelabelStatement,
    RenameSection,
    Stretch,
    apply_corrections,
)
from counterpane.errors import AnalysisError
from counterpane.model.analysis import Analysis, Extent, Form, Likeness
from counterpane.model.piece import HANDS, Hand, Piece

Json = Mapping[str, Any]
_FINEST = 10_000


@dataclass(frozen=True)
class JsonConflict:
    """A correction, as it was sent, that the present analysis contradicts, and why."""

    correction: dict[str, Any]
    text: str


def corrected(
    piece: Piece, analysis: Analysis | None, corrections: Sequence[Json]
) -> tuple[Analysis, tuple[JsonConflict, ...]]:
    """Return the analysis with JSON corrections laid over it, and those that found nothing to correct.

    Raises `AnalysisError` for a correction that makes no sense.
    """
    read = [correction_from_json(correction) for correction in corrections]
    result, conflicts = apply_corrections(piece, analysis, read)
    sent = {id(one): dict(json) for one, json in zip(read, corrections, strict=True)}
    return result, tuple(JsonConflict(sent[id(c.correction)], c.text) for c in conflicts)


def correction_from_json(json: Json) -> Correction:
    """Read one correction; raises `AnalysisError` with one sentence when it makes no sense."""
    kind = json.get("kind")
    reader = _READERS.get(kind) if isinstance(kind, str) else None
    if reader is None:
        raise AnalysisError(f"{kind!r} is no kind of correction; the kinds are {', '.join(_READERS)}")
    try:
        return reader(json)
    except KeyError as missing:
        raise AnalysisError(f'the correction "{kind}" lacks {missing.args[0]!r}') from None


def _stretch(json: Json) -> Stretch:
    hand: Hand = _one_of(json, "hand", HANDS)
    start, end = _place(json, "start"), _place(json, "end")
    if end <= start:
        raise AnalysisError("a correction's stretch ends before it starts; give its first and its last note")
    return Stretch(hand, *start, *end)


def _place(json: Json, name: str) -> tuple[int, Fraction]:
    place = json[name]
    if not isinstance(place, Mapping):
        raise AnalysisError(f'"{name}" of a correction is a place: an object with measure and beat')
    beat = place["beat"]
    if isinstance(beat, bool) or not isinstance(beat, int | float) or not 1 <= beat < _FINEST:
        raise AnalysisError(f'the beat of "{name}" is {beat!r}; beats are numbers from 1')
    return _whole(place, "measure"), Fraction(beat).limit_denominator(_FINEST)


def _whole(json: Json, name: str) -> int:
    value = json[name]
    if isinstance(value, bool) or not isinstance(value, int):
        raise AnalysisError(f'"{name}" of a correction is {value!r}; it must be a whole number')
    return value


def _words(json: Json, name: str) -> str:
    value = json[name]
    if not isinstance(value, str) or not value.strip():
        raise AnalysisError(f'"{name}" of a correction must be a text that is not empty')
    return value.strip()


def _one_of(json: Json, name: str, choices: tuple[str, ...]) -> Any:
    value = json[name]
    if value not in choices:
        raise AnalysisError(f'"{name}" of a correction is {value!r}; it must be one of {", ".join(choices)}')
    return value


def _label(json: Json, name: str, choices: tuple[str, ...]) -> Any:
    return _one_of(json, name, choices) if json.get(name) is not None else None


def _relabel(json: Json) -> Correction:
    labels = {
        "form": _label(json, "form", get_args(Form)),
        "extent": _label(json, "extent", get_args(Extent)),
        "likeness": _label(json, "likeness", get_args(Likeness)),
    }
    if not any(labels.values()):
        raise AnalysisError('the correction "relabel_statement" changes nothing; give form, extent or likeness')
    return RelabelStatement(_stretch(json), **labels)


def _suggestion(json: Json) -> Correction:
    decision = _one_of(json, "decision", ("accept", "edit", "drop"))
    text = _words(json, "text") if decision == "edit" or json.get("text") is not None else None
    return DecideSuggestion(_words(json, "id"), decision, text)


_READERS: dict[str, Callable[[Json], Correction]] = {
    "subject": lambda json: ChooseSubject(_stretch(json)),
    "add_statement": lambda json: AddStatement(
        _stretch(json), cast("Form", _label(json, "form", get_args(Form)) or "upright")
    ),
    "drop_statement": lambda json: DropStatement(_stretch(json)),
    "relabel_statement": _relabel,
    "move_boundary": lambda json: MoveBoundary(_whole(json, "first_measure"), _whole(json, "to_measure")),
    "rename_section": lambda json: RenameSection(_whole(json, "first_measure"), _words(json, "label")),
    "suggestion": _suggestion,
}
