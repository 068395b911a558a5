"""The words of one ABC voice, tokenised and given their context by music21.

music21's context goes from token to token: a grace note would take a place in a tuplet and a mark part a broken
rhythm, so both are put aside, with the note that they belong to, before it is worked out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from counterpane.errors import UnreadableScore
from counterpane.score import limits
from counterpane.score.abc.fields import Key, read_key
from counterpane.score.refusals import too_many_measures, too_many_notes

_VERSION = (2, 1, 0)


@dataclass
class Word:
    """One of music21's tokens with what hangs on it.

    `chord` are its further notes, `tied` the places in the chord with ties of their own, `times` the length
    behind the chord; `graces` (note, slashed) and `signs` stand before it.
    """

    token: Any
    chord: list[Any] = field(default_factory=list)
    tied: list[int] = field(default_factory=list)
    times: str = ""
    graces: list[tuple[Any, bool]] = field(default_factory=list)
    signs: list[str] = field(default_factory=list)

    @property
    def others(self) -> list[Any]:
        """The notes that hang on the token: of its chord and graces."""
        return [*self.chord, *(note for note, _ in self.graces)]

    @property
    def mark(self) -> tuple[str, str] | None:
        """The kind and value of a line "N:" that `plain` wrote; None for music."""
        if not self.token.src.startswith("N:"):
            return None
        kind, _, value = self.token.src[2:].partition(" ")
        return kind, value


def read_words(head: str, music: str, key: Key, propagate: str, name: str) -> list[Word]:
    """Read a voice: `head` has its M:, L: and K: fields, `music` is plain; `propagate` as in section 11.3.

    Raises `UnreadableScore`.
    """
    from music21 import abcFormat
    from music21.exceptions21 import Music21Exception

    handler = abcFormat.ABCHandler(abcVersion=_VERSION)
    handler.abcDirectives["propagate-accidentals"] = propagate
    try:
        handler.tokenize(f"{head}{music}\n")
        words = list(_Gathering(handler.tokens).words())
        _refuse_too_many(words, name)
        _alter_single_steps(words, key)
        handler.tokens = [word.token for word in words]
        handler.tokenProcess()
        _parse_the_rest(words)
    except (Music21Exception, ArithmeticError, IndexError, TypeError, ValueError) as error:
        raise UnreadableScore(
            "the ABC text cannot be understood; correct it, or export it again from your notation program.",
            file=name,
        ) from error
    return words[head.count(":") :]


class _Gathering:
    """Goes through the tokens once and puts together what belongs to one note."""

    def __init__(self, tokens: Sequence[Any]) -> None:
        self._tokens = tokens
        self._chord: Word | None = None
        self._in_chord = False
        self._in_grace = False
        self._slashed = False
        self._graces: list[tuple[Any, bool]] = []
        self._signs: list[str] = []

    def words(self) -> Iterator[Word]:
        """Yield what takes time or a place, with the rest hung on it."""
        from music21 import abcFormat

        for token in self._tokens:
            if isinstance(token, abcFormat.ABCGraceStart | abcFormat.ABCGraceStop):
                self._in_grace = isinstance(token, abcFormat.ABCGraceStart)
                self._slashed = self._slashed and self._in_grace
            elif self._in_grace:
                if isinstance(token, abcFormat.ABCNote):
                    self._graces.append((token, self._slashed))
            elif self._in_chord and self._chord is not None and self._joins(token):
                continue
            else:
                yield from self._word(token)

    def _joins(self, token: Any) -> bool:
        from music21 import abcFormat

        assert self._chord is not None
        if isinstance(token, abcFormat.ABCNote):
            self._chord.chord.append(token)
        elif isinstance(token, abcFormat.ABCTie):
            self._chord.tied.append(len(self._chord.chord))
        else:
            return False
        return True

    def _word(self, token: Any) -> Iterator[Word]:
        from music21 import abcFormat

        word = Word(token)
        match word.mark:
            case "sign", value:
                self._signs.append(value)
            case "slashed", _:
                self._slashed = True
            case "chord", _:
                self._in_chord, self._chord = True, None
            case "end", value:
                assert self._chord is not None
                self._chord.times = value
                self._in_chord = False
            case _:
                if isinstance(token, abcFormat.ABCNote | abcFormat.ABCBar):
                    word.graces, self._graces = self._graces, []
                if isinstance(token, abcFormat.ABCNote):
                    word.signs, self._signs = self._signs, []
                    self._chord = word
                yield word


def _refuse_too_many(words: Sequence[Word], name: str) -> None:
    """Refuse more notes than a piece may have, and more keys than measures, before they take minutes."""
    if sum(hasattr(note, "pitchName") for word in words for note in (word.token, *word.others)) > limits.NOTES:
        raise too_many_notes(name)
    if sum(word.token.src.startswith("K:") for word in words) > limits.MEASURES:
        raise too_many_measures(name)


def _parse_the_rest(words: Sequence[Word]) -> None:
    """Work out the pitches of the notes that were put aside, in the key that music21 found for those around."""
    key = None
    for word in words:
        key = getattr(word.token, "activeKeySignature", key)
        for note in word.others:
            note.parse(forceDefaultQuarterLength=1.0, forceKeySignature=key)


def _alter_single_steps(words: Sequence[Word], key: Key) -> None:
    """Give notes the signs that a key has for single steps, which music21 does not know, as if carried on."""
    for word in words:
        match word.mark:
            case "key", value:
                key = read_key(value)
            case _:
                for note in (word.token, *word.others):
                    sign = key.extra.get(note.src[:1].upper())
                    if sign and hasattr(note, "carriedAccidental") and not note.carriedAccidental:
                        note.carriedAccidental = sign
