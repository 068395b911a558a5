"""Which hand plays what: as the staves say it, else by register over the whole piece."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from fractions import Fraction
from typing import TypeVar

from counterpane.model.piece import Hand
from counterpane.score.heads import Head, WrittenScore
from counterpane.score.midi.division import divide_notes

_REACH = 12
"""What a hand spans with ease, in semitones (an octave; common practice, no source)."""

_CLEARLY_HIGHER = 5
"""Semitones between two staves' mean pitches from which the lower staff is taken for the right hand's."""

Voice = TypeVar("Voice", bound=Hashable)
Sounding = tuple[Fraction, Fraction, int]
"""Onset and end in quarters, MIDI number."""


def give_hands(
    written: WrittenScore, stated: Mapping[int, Hand], *, parts_stated: bool = True
) -> tuple[dict[str, Hand], bool]:
    """Say which hand plays each head, and whether that is a guess; `stated` is what the file says of its staves.

    Where the format cannot say which staves are one part (`parts_stated` is False), each counts as its own.

    Two staves of one part are right and left as they stand, and a note belongs to the staff that it is drawn on.
    Two staves that are parts of their own are taken the same way, unless the lower one lies clearly higher.
    Three or four staves are voices, which go to the hands by register. On a single staff layers are treated as
    voices, and wide chords are divided note by note.
    """
    staves = [staff.number for staff in written.staves]
    if set(stated) == set(staves):
        return {head.id: stated[head.staff] for head in written.heads}, False
    if len(staves) == 2:
        return _two_staves(written, *staves, parts_stated=parts_stated)
    if len(staves) > 2:
        by_staff = divide_voices(_sounding(written.heads, lambda head: head.staff))
        return {head.id: by_staff[head.staff] for head in written.heads}, True
    return _one_staff(written.heads), True


def _two_staves(
    written: WrittenScore, upper: int, lower: int, *, parts_stated: bool
) -> tuple[dict[str, Hand], bool]:
    sounding = _sounding(written.heads, lambda head: head.staff)
    one_part = parts_stated and written.staves[0].part == written.staves[1].part
    turned = (
        not one_part
        and upper in sounding
        and lower in sounding
        and mean_pitch(sounding[lower]) - mean_pitch(sounding[upper]) > _CLEARLY_HIGHER
    )
    right = lower if turned else upper
    return {head.id: "right" if head.staff == right else "left" for head in written.heads}, turned


def _one_staff(heads: Sequence[Head]) -> dict[str, Hand]:
    by_layer = _sounding(heads, lambda head: head.layer)
    if len(by_layer) > 1:
        hands = divide_voices(by_layer)
        return {head.id: hands[head.layer] for head in heads}
    ordered = sorted(heads, key=lambda head: (head.onset, head.pitch.midi))
    if _widest_chord(ordered) > _REACH:
        notes = [(head.onset, head.onset + head.duration, head.pitch.midi) for head in ordered]
        return {head.id: hand for head, hand in zip(ordered, divide_notes(notes), strict=True)}
    whole = divide_voices(by_layer)
    return {head.id: whole[head.layer] for head in heads}


def _widest_chord(heads: Sequence[Head]) -> int:
    lowest: dict[str, int] = {}
    widest = 0
    for head in heads:
        low = lowest.setdefault(head.group, head.pitch.midi)
        widest = max(widest, head.pitch.midi - low)
    return widest


def _sounding(heads: Sequence[Head], key: Callable[[Head], Voice]) -> dict[Voice, list[Sounding]]:
    voices: dict[Voice, list[Sounding]] = defaultdict(list)
    for head in heads:
        voices[key(head)].append((head.onset, head.onset + head.duration, head.pitch.midi))
    return voices


def divide_voices(voices: Mapping[Voice, Sequence[Sounding]]) -> dict[Voice, Hand]:
    """Give whole voices to the hands by register over the piece: the higher ones to the right.

    `voices` maps a key to its notes. Of all ways to cut the voices, ordered by mean pitch, in two, the one is
    taken in which the hands have to stretch least beyond an octave, then in which they lie furthest apart.
    """
    order = sorted(voices, key=lambda voice: -mean_pitch(voices[voice]))
    if len(order) == 1:
        return {order[0]: "right" if mean_pitch(voices[order[0]]) >= 60 else "left"}
    cuts = range(1, len(order))
    best = min(
        cuts,
        key=lambda cut: (_stretch(voices, order[:cut]) + _stretch(voices, order[cut:]), -_gap(voices, order, cut)),
    )
    return {voice: "right" if place < best else "left" for place, voice in enumerate(order)}


def mean_pitch(notes: Sequence[Sounding]) -> float:
    """Return the mean MIDI number, each note weighted by how long it sounds."""
    weight = sum(end - onset for onset, end, _ in notes)
    if not weight:
        return sum(midi for *_, midi in notes) / len(notes) if notes else 60.0
    return float(sum((end - onset) * midi for onset, end, midi in notes) / weight)


def _gap(voices: Mapping[Voice, Sequence[Sounding]], order: Sequence[Voice], cut: int) -> float:
    return mean_pitch(voices[order[cut - 1]]) - mean_pitch(voices[order[cut]])


def _stretch(voices: Mapping[Voice, Sequence[Sounding]], group: Sequence[Voice]) -> Fraction:
    """Return the semitones beyond an octave that one hand has to span, times how long, over the piece."""
    events: list[tuple[Fraction, int, int]] = []
    for voice in group:
        for onset, end, midi in voices[voice]:
            if end > onset:
                events += [(onset, 1, midi), (end, 0, midi)]
    events.sort()
    sounding: list[int] = []
    total, before = Fraction(0), Fraction(0)
    for time, starts, midi in events:
        if sounding:
            total += max(0, max(sounding) - min(sounding) - _REACH) * (time - before)
        before = time
        if starts:
            sounding.append(midi)
        else:
            sounding.remove(midi)
    return total
