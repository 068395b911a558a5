"""Voices inside one hand: which notes follow each other in one layer of a staff."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import permutations

_MOST = 4
"""Layers in one staff; more cannot be read."""
_NEW_LAYER = 12.0
_SILENCE = 1.0


@dataclass(frozen=True, slots=True)
class Chord:
    """Notes that begin and end together, by place in the caller's list; from low to high."""

    onset: Fraction
    end: Fraction
    midis: tuple[int, ...]
    notes: tuple[int, ...]


def into_layers(chords: Sequence[Chord]) -> list[list[Chord]]:
    """Divide chords, sorted by onset, into layers without overlap, so that each moves as little as possible.

    Chords that begin together are given to layers together, by the cheapest of all ways. Where more than four
    would sound, the one that began first is cut short.
    """
    layers: list[list[Chord]] = []
    by_onset: dict[Fraction, list[Chord]] = defaultdict(list)
    for chord in chords:
        by_onset[chord.onset].append(chord)
    for onset in sorted(by_onset):
        _place(sorted(by_onset[onset], key=lambda chord: -chord.midis[-1])[:_MOST], onset, layers)
    return layers


def _place(group: list[Chord], onset: Fraction, layers: list[list[Chord]]) -> None:
    free = [i for i, layer in enumerate(layers) if layer[-1].end <= onset]
    while len(free) + _MOST - len(layers) < len(group):
        busy = [i for i in range(len(layers)) if i not in free]
        longest = min(busy, key=lambda i: layers[i][-1].onset)
        layers[longest][-1] = replace(layers[longest][-1], end=onset)
        free.append(longest)
    fresh = [len(layers) + i for i in range(min(len(group), _MOST - len(layers)))]
    options = permutations(sorted(free) + fresh, len(group))
    best = min(
        options,
        key=lambda places: sum(_distance(layers, i, chord) for i, chord in zip(places, group, strict=True)),
    )
    for i, chord in sorted(zip(best, group, strict=True), key=lambda pair: pair[0]):
        if i < len(layers):
            layers[i].append(chord)
        else:
            layers.append([chord])


def _distance(layers: list[list[Chord]], i: int, chord: Chord) -> float:
    if i >= len(layers):
        return _NEW_LAYER + i / 100
    last = layers[i][-1]
    return abs(last.midis[-1] - chord.midis[-1]) + _SILENCE * min(4.0, float(chord.onset - last.end))
