"""A whole ABC tune as a sketch: header, voices and staves; of several tunes in a file the first is read."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from counterpane.errors import UnreadableScore
from counterpane.score import limits
from counterpane.score.abc.fields import (
    Key,
    Voice,
    default_length,
    read_grouping,
    read_key,
    read_length,
    read_meter,
    read_tempo,
    read_voice,
)
from counterpane.score.abc.music import BarDraft, VoiceReader
from counterpane.score.abc.plain import plain, plain_field, plain_head
from counterpane.score.abc.words import read_words
from counterpane.score.refusals import ensemble, no_notes, percussion_only, too_much_music
from counterpane.score.sketch import VALUES, Bar, Sketch, StaffLine, Symbol, split_into_values

_FIELD = re.compile(r"([A-Za-z+]):(.*)")
_INLINE_VOICE = re.compile(r"\[V:([^\]]{0,200})\]")
_MOST_VOICES = 4 * limits.STAVES
_LONGEST_VALUE = 1000
"""How much of a field is read, in characters."""


@dataclass
class _Tune:
    """What is known of the tune so far."""

    file: str
    title: str = ""
    composer: str = ""
    meter: tuple[int, int] = (4, 4)
    unit: Fraction | None = None
    key: Key = field(default_factory=Key)
    tempo_text: str = ""
    grouping: list[list[str]] = field(default_factory=list)
    braced: bool = False
    propagate: str = "pitch"
    in_body: bool = False
    voices: dict[str, Voice] = field(default_factory=dict)
    music: dict[str, list[str]] = field(default_factory=dict)
    characters: int = 0
    current: str = "1"


def abc_to_sketch(text: str, name: str) -> Sketch:
    """Read the first tune of an ABC file. Raises `UnreadableScore` or `UnsuitableScore`."""
    tune = _Tune(name)
    for line in _joined(text):
        if tune.in_body and (not line.strip() or line.startswith("X:")):
            break
        _read_line(tune, line)
    if any(voice.percussion for voice in tune.voices.values()):
        raise percussion_only(name)
    return _sketch(tune)


def _joined(text: str) -> list[str]:
    """Return the lines without comments; a line that ends with a backslash goes on in the next."""
    lines: list[str] = []
    open_line = False
    for raw in text.split("\n"):
        line = raw if raw.startswith("%%") else re.sub(r"(?<!\\)%.*", "", raw).rstrip()
        if not line and raw.startswith("%"):
            continue
        goes_on = line.endswith("\\")
        line = line.removesuffix("\\")
        if open_line:
            lines[-1] += line
        else:
            lines.append(line)
        open_line = goes_on
    return lines


def _read_line(tune: _Tune, line: str) -> None:
    if line.startswith("%%"):
        _directive(tune, line[2:])
        return
    found = _FIELD.match(line)
    if found:
        _field(tune, found[1], found[2].strip()[:_LONGEST_VALUE])
    elif tune.in_body:
        _music(tune, line)


def _directive(tune: _Tune, words: str) -> None:
    if re.match(r"(score|staves)\b", words):
        tune.grouping = read_grouping(words.partition(" ")[2])
        tune.braced = "{" in words
    elif words.startswith("propagate-accidentals"):
        tune.propagate = words.split()[-1]


def _field(tune: _Tune, letter: str, value: str) -> None:
    if letter == "V":
        voice = read_voice(value, tune.voices.get(value.split()[0] if value.split() else "1"))
        tune.voices[voice.name] = voice
        tune.current = voice.name
    elif letter == "I":
        _directive(tune, value)
    elif tune.in_body:
        _current(tune).append(plain_field(letter, value))
    elif not tune.in_body:
        _header(tune, letter, value)


def _header(tune: _Tune, letter: str, value: str) -> None:
    if letter == "T" and not tune.title:
        tune.title = value
    elif letter == "C" and not tune.composer:
        tune.composer = value
    elif letter == "M":
        tune.meter = read_meter(value) or tune.meter
    elif letter == "L":
        tune.unit = read_length(value)
    elif letter == "Q":
        tune.tempo_text = value
    elif letter == "K":
        tune.key = read_key(value)
        if re.search(r"\bclef=|\b(treble|bass)\b", value):
            tune.voices["1"] = read_voice(f"1 {value}", tune.voices.get("1"))
        tune.in_body = True
        tune.current = next(iter(tune.voices), "1")


def _music(tune: _Tune, line: str) -> None:
    """Read music code; an inline [V:...] hands what follows to another voice."""
    pieces = _INLINE_VOICE.split(line)
    for i, piece in enumerate(pieces):
        if i % 2:
            _field(tune, "V", piece)
        elif piece.strip():
            tune.characters += len(piece)
            if tune.characters > limits.ABC_CHARACTERS:
                raise too_much_music(tune.file)
            _current(tune).append(plain(piece))


def _current(tune: _Tune) -> list[str]:
    """Return what was written of the voice that is open."""
    tune.voices.setdefault(tune.current, Voice(tune.current))
    return tune.music.setdefault(tune.current, [])


def _voice(tune: _Tune, name: str) -> list[BarDraft]:
    """Read what was written of a voice; bars without anything in them are left out."""
    head = plain_head(tune.meter, _unit(tune), tune.key)
    words = read_words(head, "\n".join(tune.music[name]), tune.key, tune.propagate, tune.file)
    bars = VoiceReader(tune.file, tune.meter, tune.voices[name].octave).read(words)
    return [bar for bar in bars if not bar.empty]


def _unit(tune: _Tune) -> Fraction:
    """Return the unit note length, in quarters."""
    return tune.unit or default_length(tune.meter)


def _sketch(tune: _Tune) -> Sketch:
    if len(tune.music) > _MOST_VOICES:
        raise ensemble(f"{len(tune.music)} voices", tune.file)
    voices = {name: bars for name in tune.music if (bars := _voice(tune, name))}
    if not voices:
        raise no_notes(tune.file)
    staves = [[name for name in staff if name in voices] for staff in tune.grouping]
    staves = [staff for staff in staves if staff]
    grouped = {name for staff in staves for name in staff}
    staves += [[name] for name in voices if name not in grouped]
    length = max(len(bars) for bars in voices.values())
    leading = next(bars for bars in voices.values() if len(bars) == length)
    lines = tuple(_staff_line(tune, staff, voices, length) for staff in staves)
    tempo = read_tempo(tune.tempo_text, _unit(tune))
    return Sketch(tune.title, tune.composer, _bars(tune, leading), lines, tune.braced and len(lines) == 2, tempo)


def _bars(tune: _Tune, drafts: Sequence[BarDraft]) -> tuple[Bar, ...]:
    bars: list[Bar] = []
    for i, draft in enumerate(drafts):
        key = draft.key or (tune.key if i == 0 else None)
        bars.append(
            Bar(
                number=None,
                meter=draft.meter or (tune.meter if i == 0 else None),
                fifths=key.fifths if key else None,
                mode=key.mode if key else None,
                repeat_start=draft.repeat_start,
                repeat_end=draft.repeat_end,
                endings=draft.endings,
            )
        )
    return tuple(bars)


def _staff_line(tune: _Tune, names: Sequence[str], voices: dict[str, list[BarDraft]], length: int) -> StaffLine:
    bars: list[tuple[tuple[Symbol, ...], ...]] = []
    for i in range(length):
        drafts = [voices[name][i] if i < len(voices[name]) else BarDraft() for name in names]
        overlays = [layer for draft in drafts for layer in draft.layers[1:]]
        bars.append(
            tuple(_values(layer, tune, i) for layer in [*(draft.layers[0] for draft in drafts), *overlays])
        )
    voice = tune.voices[names[0]]
    return StaffLine(voice.label, voice.clef or _clef(bars), tuple(bars))


def _clef(bars: Sequence[Sequence[Sequence[Symbol]]]) -> Literal["G", "F"]:
    pitches = [pitch.midi for bar in bars for layer in bar for symbol in layer for pitch in symbol.pitches]
    return "F" if pitches and sum(pitches) / len(pitches) < 57 else "G"


def _values(layer: Sequence[Symbol], tune: _Tune, bar: int) -> tuple[Symbol, ...]:
    """Cut lengths that one symbol cannot show into tied ones."""
    symbols: list[Symbol] = []
    at = Fraction(0)
    for symbol in layer:
        values = (
            (symbol.written,) if symbol.written in VALUES else split_into_values(at, symbol.written, Fraction(1))
        )
        if any(value not in VALUES for value in values):
            raise UnreadableScore(
                f"a note length in bar {bar + 1} cannot be written as note values; correct it in the ABC text.",
                file=tune.file,
            )
        for i, value in enumerate(values):
            last = i == len(values) - 1
            symbols.append(
                replace(
                    symbol,
                    written=value,
                    opens=symbol.opens and i == 0,
                    tied=symbol.tied if last else tuple(range(len(symbol.pitches))),
                    ornaments=symbol.ornaments if i == 0 else (),
                    articulations=symbol.articulations if i == 0 else (),
                )
            )
        at += symbol.length
    return tuple(symbols)
