"""Spelling: which step and alteration a MIDI number is written with.

Source: D. Meredith, "The ps13 pitch spelling algorithm", Journal of New Music Research 35 (2006), 121-159: stage
one of the algorithm (ps13s1) with the context that he found best, 10 notes before and 42 after. It counts, around
each note, how often each pitch class occurs, lets each be the tonic in proportion, and takes the step that most of
them vote for. The numbers of steps and classes count from A, as there. Difference: the whole spelling is then
moved enharmonically, if that brings it nearer to the key signature (the paper leaves that open).
"""

from __future__ import annotations

from collections.abc import Sequence

from counterpane.model.piece import Pitch

_BEFORE, _AFTER = 10, 42
_STEPS_FROM_A = "ABCDEFG"
_UNALTERED = (0, 2, 3, 5, 7, 8, 10)
_FIRST_MORPH = (0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6)
_FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}


def spell(midis: Sequence[int], fifths: int | None = None) -> list[Pitch]:
    """Spell MIDI numbers given in time order (from low to high at one time).

    `fifths` is the key signature where it is known (sharps positive).
    """
    chromas = [(midi - 21) % 12 for midi in midis]
    pitches = [_pitch(midi, morph) for midi, morph in zip(midis, _morphs(chromas), strict=True)]
    return _moved_near(pitches, fifths)


def line_of_fifths(pitch: Pitch) -> int:
    """Return a pitch's place on the line of fifths: C is 0, G 1, F -1, F sharp 6."""
    return _FIFTHS[pitch.step] + 7 * pitch.alter


def _morphs(chromas: Sequence[int]) -> list[int]:
    """Return each note's step counted from A (the paper's morph)."""
    if not chromas:
        return []
    first = chromas[0]
    tonic_morphs = [(_FIRST_MORPH[first] - _FIRST_MORPH[(first - tonic) % 12]) % 7 for tonic in range(12)]
    votes = [
        [(_FIRST_MORPH[(chroma - tonic) % 12] + tonic_morphs[tonic]) % 7 for tonic in range(12)]
        for chroma in range(12)
    ]
    counts = [0] * 12
    for chroma in chromas[: _AFTER - 1]:
        counts[chroma] += 1
    morphs = []
    for place, chroma in enumerate(chromas):
        if place + _AFTER - 1 < len(chromas):
            counts[chromas[place + _AFTER - 1]] += 1
        if place - _BEFORE - 1 >= 0:
            counts[chromas[place - _BEFORE - 1]] -= 1
        strengths = [0] * 7
        for tonic, count in enumerate(counts):
            strengths[votes[chroma][tonic]] += count
        morphs.append(strengths.index(max(strengths)))
    return morphs


def _pitch(midi: int, morph: int) -> Pitch:
    """Return the pitch on a step that lies nearest to a MIDI number."""
    base = midi - 21
    octave = min(
        (base // 12 - 1, base // 12, base // 12 + 1), key=lambda o: abs(12 * o + _UNALTERED[morph] - base)
    )
    alter = base - 12 * octave - _UNALTERED[morph]
    step = _STEPS_FROM_A[morph]
    return Pitch(step, alter, octave + (0 if step in "AB" else 1))


def _moved_near(pitches: list[Pitch], fifths: int | None) -> list[Pitch]:
    """Move all by a diminished second up or down, if that lies nearer to the key and needs no triple signs."""
    centre = 2 if fifths is None else fifths + 2
    options = [[_enharmonic(pitch, shift) for pitch in pitches] for shift in (0, -12, 12)]

    def distance(option: list[Pitch]) -> int:
        return sum(abs(line_of_fifths(pitch) - centre) for pitch in option)

    return [_plain(pitch) for pitch in min(options, key=distance)]


def _enharmonic(pitch: Pitch, shift: int) -> Pitch:
    """Return the pitch of the same key on the piano `shift` places along the line of fifths (a multiple of 12)."""
    if shift == 0:
        return pitch
    place = line_of_fifths(pitch) + shift
    step = "FCGDAEB"[(place + 1) % 7]
    alter = (place - _FIFTHS[step]) // 7
    plain = Pitch(step, alter, pitch.octave)
    return Pitch(step, alter, pitch.octave + (pitch.midi - plain.midi) // 12)


def _plain(pitch: Pitch) -> Pitch:
    """Bring a pitch with more than two sharps or flats back to a readable one."""
    while abs(pitch.alter) > 2:
        pitch = _enharmonic(pitch, -12 if pitch.alter > 0 else 12)
    return pitch
