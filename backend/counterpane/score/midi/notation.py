"""A MIDI file written out as notation: measures, staves for the hands, layers, note values, ties and tuplets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from counterpane.model.piece import Pitch
from counterpane.score import limits
from counterpane.score.midi.bytes import TickFile, read_bytes
from counterpane.score.midi.division import divide_notes
from counterpane.score.midi.key import estimate_key
from counterpane.score.midi.layers import Chord, into_layers
from counterpane.score.midi.quantise import TimedNote, quantise
from counterpane.score.midi.spelling import spell
from counterpane.score.midi.symbols import write_layer
from counterpane.score.refusals import too_many_measures
from counterpane.score.sketch import Bar, Sketch, StaffLine
from counterpane.score.suitable import check_notes, check_programs
from counterpane.units import microseconds_to_tempo, ticks_to_quarters


@dataclass(frozen=True)
class MidiSketch:
    """The sketch, and whether the hands had to be guessed."""

    sketch: Sketch
    hands_guessed: bool


def midi_to_sketch(data: bytes, name: str) -> MidiSketch:
    """Read a Standard MIDI File as notation.

    Two tracks are the hands; three or four are voices, one staff each; one is divided between the hands. Raises
    `UnreadableScore` or `UnsuitableScore`.
    """
    file = read_bytes(data, name)
    _check(file, name)
    notes = quantise(file)
    bars, starts = _bars(file, notes, name)
    staves, braced, guessed = _staves(notes)
    pitches = spell([note.midi for note in notes], bars[0].fifths)
    lines = tuple(_staff(staff, notes, pitches, bars, starts) for staff in staves)
    tempo = microseconds_to_tempo(file.tempos[0][1]) if file.tempos else None
    return MidiSketch(Sketch(file.title, "", tuple(bars), lines, braced, tempo), guessed)


def _check(file: TickFile, name: str) -> None:
    check_notes(len(file.notes), file.percussion, name)
    parts = sorted({note.part for note in file.notes})
    check_programs([file.programs.get(part, 0) for part in parts], file.percussion > 0, name)


def _bars(file: TickFile, notes: Sequence[TimedNote], name: str) -> tuple[list[Bar], list[Fraction]]:
    """Return the measures, and where each begins, with the end of the last added (quarters)."""
    quarter = file.ticks_per_quarter
    meters = {ticks_to_quarters(tick, quarter): meter for tick, meter in file.meters}
    keys = {ticks_to_quarters(tick, quarter): key for tick, key in file.keys}
    meter = meters.pop(Fraction(0), (4, 4))
    end = max(note.end for note in notes)
    pickup = _pickup(meter, meters)
    bars: list[Bar] = []
    starts = [Fraction(0)]
    fifths, mode = _first_key(keys, notes)
    shown: tuple[object, object] = (None, None)
    while starts[-1] < end:
        start = starts[-1]
        meter = next((meters[place] for place in sorted(meters, reverse=True) if place <= start), meter)
        length = Fraction(4 * meter[0], meter[1])
        change = min((place for place in meters if start < place < start + length), default=None)
        written = meters[start + length] if pickup and not bars else meter
        for place in sorted(keys):
            if 0 < place <= start:
                fifths, mode = keys[place][0], "minor" if keys[place][1] else "major"
        new_key = shown[1] != (fifths, mode)
        bars.append(
            Bar(
                number=len(bars) + (0 if pickup else 1),
                meter=written if shown[0] != written else None,
                fifths=fifths if new_key else None,
                mode=mode if new_key else None,
            )
        )
        shown = (written, (fifths, mode))
        starts.append(change if change is not None else start + length)
        if len(bars) > limits.MEASURES:
            raise too_many_measures(name)
    return bars, starts


def _pickup(first: tuple[int, int], changes: dict[Fraction, tuple[int, int]]) -> bool:
    """Notation programs write a pickup as one short measure with a meter of its own, before the real one."""
    length = Fraction(4 * first[0], first[1])
    following = changes.get(length)
    return following is not None and Fraction(4 * following[0], following[1]) > length


def _first_key(
    keys: dict[Fraction, tuple[int, bool]], notes: Sequence[TimedNote]
) -> tuple[int, Literal["major", "minor"]]:
    given = keys.get(Fraction(0))
    estimated = estimate_key((note.midi, float(note.end - note.onset)) for note in notes)
    if given is None or (given == (0, False) and len(keys) == 1):
        return estimated  # many programs write "C major" when nobody chose a key
    return given[0], "minor" if given[1] else "major"


@dataclass(frozen=True)
class _StaffNotes:
    label: str
    notes: tuple[int, ...]


def _staves(notes: Sequence[TimedNote]) -> tuple[list[_StaffNotes], bool, bool]:
    """Return the staves from high to low, whether they are one part, and whether the hands are a guess."""
    parts: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i, note in enumerate(notes):
        parts[note.part].append(i)
    if len(parts) == 1:
        hands = divide_notes([(note.onset, note.end, note.midi) for note in notes])
        split = [tuple(i for i, hand in enumerate(hands) if hand == side) for side in ("right", "left")]
        return [_StaffNotes("", chosen) for chosen in split], True, True
    order = sorted(parts, key=lambda part: -sum(notes[i].midi for i in parts[part]) / len(parts[part]))
    staves = [_StaffNotes("", tuple(parts[part])) for part in order]
    return staves, len(parts) == 2, len(parts) > 2


def _staff(
    staff: _StaffNotes,
    notes: Sequence[TimedNote],
    pitches: Sequence[Pitch],
    bars: Sequence[Bar],
    starts: Sequence[Fraction],
) -> StaffLine:
    groups: dict[tuple[Fraction, Fraction], list[int]] = defaultdict(list)
    for i in staff.notes:
        groups[notes[i].onset, notes[i].end].append(i)
    chords = [
        Chord(onset, end, tuple(notes[i].midi for i in members), tuple(members))
        for (onset, end), members in groups.items()
    ]
    chords.sort(key=lambda chord: chord.onset)
    layers = [write_layer(layer, pitches, bars, starts) for layer in into_layers(chords)]
    mean = sum(notes[i].midi for i in staff.notes) / len(staff.notes) if staff.notes else 48
    written = tuple(tuple(layer[i] for layer in layers) for i in range(len(bars)))
    return StaffLine(staff.label, "G" if mean >= 58 else "F", written)
