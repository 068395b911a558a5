"""A MIDI file written out as notation: measures, staves for the hands, layers, note values, ties and tuplets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from counterpane.model.piece import Pitch
from counterpane.score.midi.bars import lay_bars
from counterpane.score.midi.division import divide_notes
from counterpane.score.midi.events import TickFile, read_events
from counterpane.score.midi.layers import Chord, into_layers
from counterpane.score.midi.quantise import TimedNote, quantise
from counterpane.score.midi.spelling import spell
from counterpane.score.midi.symbols import write_layer
from counterpane.score.sketch import Bar, Sketch, StaffLine
from counterpane.score.suitable import check_notes, check_programs
from counterpane.units import microseconds_to_tempo


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
    file = read_events(data, name)
    _check(file, name)
    notes = quantise(file)
    bars, starts = lay_bars(file, notes, name)
    staves, braced, guessed = _staves(notes)
    pitches = spell([note.midi for note in notes], bars[0].fifths)
    lines = tuple(_staff(staff, notes, pitches, bars, starts) for staff in staves)
    tempo = microseconds_to_tempo(file.tempos[0][1]) if file.tempos else None
    return MidiSketch(Sketch(file.title, "", tuple(bars), lines, braced, tempo), guessed)


def _check(file: TickFile, name: str) -> None:
    check_notes(len(file.notes), file.percussion, name)
    parts = sorted({note.part for note in file.notes})
    check_programs([file.programs.get(part, 0) for part in parts], file.percussion > 0, name)


def _staves(notes: Sequence[TimedNote]) -> tuple[list[tuple[int, ...]], bool, bool]:
    """Return the staves from high to low, whether they are one part, and whether the hands are a guess."""
    parts: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i, note in enumerate(notes):
        parts[note.part].append(i)
    if len(parts) == 1:
        hands = divide_notes([(note.onset, note.end, note.midi) for note in notes])
        split = [tuple(i for i, hand in enumerate(hands) if hand == side) for side in ("right", "left")]
        return split, True, True
    order = sorted(parts, key=lambda part: -sum(notes[i].midi for i in parts[part]) / len(parts[part]))
    staves = [tuple(parts[part]) for part in order]
    return staves, len(parts) == 2, len(parts) > 2


def _staff(
    staff: Sequence[int],
    notes: Sequence[TimedNote],
    pitches: Sequence[Pitch],
    bars: Sequence[Bar],
    starts: Sequence[Fraction],
) -> StaffLine:
    groups: dict[tuple[Fraction, Fraction], list[int]] = defaultdict(list)
    for i in staff:
        groups[notes[i].onset, notes[i].end].append(i)
    chords = [
        Chord(onset, end, tuple(notes[i].midi for i in members), tuple(members))
        for (onset, end), members in groups.items()
    ]
    chords.sort(key=lambda chord: chord.onset)
    layers = [write_layer(layer, pitches, bars, starts) for layer in into_layers(chords)]
    mean = sum(notes[i].midi for i in staff) / len(staff) if staff else 48
    written = tuple(tuple(layer[i] for layer in layers) for i in range(len(bars)))
    return StaffLine("", "G" if mean >= 58 else "F", written)
