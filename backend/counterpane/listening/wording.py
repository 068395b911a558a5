"""The words of findings and pictures: the catalogue drills/findings.LANGUAGE.toml, filled in.

Each kind of finding is a table with `text` and `next`; names in braces are the numbers of its evidence and the
words below. A teacher may edit them without touching code.

Words that every template may use: {where} the place, {start} and {end} its first and last note, {hand} the hand
with its article, {measure}, {beat}, {end_measure}, {times} ("twice"), {alone} ("the left hand alone"), {value}
("sixteenths"), {interval} ("an octave"), {off} ("an octave too low"), {written} and {played} the names of notes.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from counterpane.listening.observations import Observation
from counterpane.model.piece import Place
from counterpane.wording import Catalogue, catalogue


@dataclass(frozen=True)
class Wording:
    """What findings and pictures say in one language."""

    sentences: Catalogue

    def say(self, observation: Observation, start: Place, end: Place) -> tuple[str, str]:
        """Return text and next step of an observation; raises `DrillError` for a kind without words.

        A name in braces that the kind has no number for is left out, never shown.
        """
        filled = _Fields(self._fields(observation, start, end))
        octave = _is_in_another_octave(observation) and f"{observation.kind}.octave" in self.sentences
        text = "octave" if octave else "text"
        sentences = (self.sentences.fill(f"{observation.kind}.{part}", filled) for part in (text, "next"))
        said, following = map(_begun, sentences)
        return said, following

    def picture(self, name: str, /, **values: object) -> str:
        """Return a picture's caption or its text equivalent."""
        return _begun(self.sentences.say(f"pictures.{name}", **values))

    def word(self, name: str, /, **values: object) -> str:
        """Return one of the small words, for example the name of a hand."""
        return self.sentences.say(f"words.{name}", **values)

    def pitch(self, step: str, alter: int) -> str:
        """Return the name of a pitch class, for example "F sharp" or "Fis"."""
        name = step + ("#" * alter if alter > 0 else "b" * -alter)
        return self.sentences.say(f"pitches.{name}") if f"pitches.{name}" in self.sentences else name

    def count(self, number: int) -> str:
        """Return how often in words, for example "twice"."""
        known = f"counts.{number}" in self.sentences
        return self.sentences.say(f"counts.{number if known else 0}", number=number)

    def where(self, start: Place, end: Place) -> str:
        """Return a place, or a stretch of measures, in words."""
        if end.measure > start.measure:
            return self.word("from_to", first=start.measure, last=end.measure)
        if end.offset > start.offset:
            return self.word("one_measure", measure=start.measure)
        key = "at" if start.beat.denominator == 1 else "between"
        return self.word(key, measure=start.measure, beat=int(start.beat))

    def _fields(self, observation: Observation, start: Place, end: Place) -> dict[str, str]:
        numbers = {key: self._number(value) for key, value in observation.evidence.items()}
        names = {key: self.pitch(*pitch) for key, pitch in observation.pitches.items()}
        return {
            **numbers,
            **names,
            "where": self.where(start, end),
            "start": self.where(start, start),
            "end": self.where(end, end),
            "hand": self.word(observation.hand or "both"),
            "alone": self.word(f"alone_{observation.hand or 'both'}"),
            "measure": str(start.measure),
            "beat": self._number(start.beat),
            "end_measure": str(end.measure),
            "times": self.count(int(observation.evidence.get("times", 0))),
            "value": self._value(observation.evidence.get("quarters", 0)),
            "off": self._octaves(observation.evidence.get("semitones_off", 0)),
            "interval": self._interval(observation.evidence.get("semitones", 0)),
        }

    def _value(self, quarters: float | str) -> str:
        key = f"values.{_plain(quarters)}"
        return self.sentences.say(
            key if key in self.sentences else "values.other", quarters=self._number(quarters)
        )

    def _interval(self, semitones: float | str) -> str:
        key = f"intervals.{_plain(semitones)}"
        return self.sentences.say(key if key in self.sentences else "intervals.other", semitones=semitones)

    def _octaves(self, semitones: float | str) -> str:
        key = f"octaves.{_plain(semitones)}"
        return self.sentences.say(key if key in self.sentences else "octaves.other")

    def _number(self, value: float | Fraction | str) -> str:
        """Return a number as the language writes it; words stay as they are."""
        return value if isinstance(value, str) else _plain(value).replace(".", self.word("decimal_point"))


def load_wording(language: str = "en") -> Wording:
    """Return the words of a language; raises `DrillError` for a language or a file that cannot be used."""
    return Wording(catalogue("findings", language))


def _is_in_another_octave(observation: Observation) -> bool:
    """Tell whether the right note sounded in a wrong octave: then "G instead of G" would say nothing."""
    return "played" in observation.pitches and observation.pitches["played"] == observation.pitches["written"]


class _Fields(dict[str, str]):
    def __missing__(self, name: str) -> str:
        return ""


def _begun(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _plain(value: float | Fraction | str) -> str:
    return value if isinstance(value, str) else f"{float(value):g}"
