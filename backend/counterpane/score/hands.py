"""Which hand plays which voice, where the staves do not say it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from counterpane.model.piece import Hand

_REACH = 12
"""What a hand spans with ease, in semitones (an octave; common practice, no source)."""

Sounding = tuple[Fraction, Fraction, int]
"""Onset and end in quarters, MIDI number."""


def divide_voices(voices: Mapping[int, Sequence[Sounding]]) -> dict[int, Hand]:
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


def _gap(voices: Mapping[int, Sequence[Sounding]], order: Sequence[int], cut: int) -> float:
    return mean_pitch(voices[order[cut - 1]]) - mean_pitch(voices[order[cut]])


def _stretch(voices: Mapping[int, Sequence[Sounding]], group: Sequence[int]) -> Fraction:
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
