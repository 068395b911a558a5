"""Pieces composed at random from a random subject, with every statement known: a measure for the analysis.

`compose(seed)` plants statements of many kinds (transposed, answered tonally, inverted, varied, ornamented,
shortened, extended, in stretto, in sequence) among free counterpoint that walks by itself, at times in the
subject's own rhythm, with or without a countersubject. Times are in sixteenth notes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from random import Random

from counterpane.model.analysis import Subject
from counterpane.model.piece import STEPS, Hand, KeySignature, Measure, Note, Piece, Pitch
from tests.analysis.variations import KINDS, VARIATIONS, Tone

CELLS = ((4,), (2, 2), (2, 2), (1, 1, 1, 1), (1, 1, 1, 1), (2, 1, 1), (1, 1, 2), (3, 1), (6, 2), (4, 2, 2), (8,))
FREE_CELLS = {
    "running": ((1, 1, 1, 1), (1, 1, 1, 1), (2, 1, 1)),
    "walking": ((2, 2), (2, 2), (4,), (4, 2, 2)),
    "mixed": CELLS,
    "slow": ((4,), (8,), (4, 4), (12, 4)),
}
STEP_WEIGHTS = {
    "smooth": {1: 10, -1: 10, 2: 3, -2: 3, 0: 1, 3: 1, -3: 1},
    "leaping": {1: 5, -1: 5, 2: 5, -2: 5, 3: 3, -3: 3, 4: 2, -4: 2, 5: 1, -5: 1, 7: 1, -7: 1, 0: 1},
    "arpeggio": {2: 8, -2: 8, 3: 3, -3: 3, 1: 2, -1: 2, 4: 2, -4: 2},
}


@dataclass(frozen=True)
class Planted:
    """One statement that the composition holds, with the onset of its first note in quarters."""

    voice: int
    hand: Hand
    onset: Fraction
    form: str
    kind: str


@dataclass(frozen=True)
class Composition:
    """A composed piece, its subject, and what was planted."""

    piece: Piece
    subject: Subject
    planted: tuple[Planted, ...]


@dataclass
class _Voice:
    number: int
    hand: Hand
    centre: int
    tones: list[Tone] = field(default_factory=list)

    @property
    def end(self) -> int:
        return self.tones[-1][0] + self.tones[-1][1] if self.tones else 0


@dataclass
class _Draft:
    random: Random
    measure: int  # sixteenths
    voices: list[_Voice]
    subject: list[Tone]  # starts at its offset within the beat grid
    planted: list[Planted] = field(default_factory=list)
    countersubject: list[Tone] | None = None
    kin: bool = False  # free counterpoint moves in the subject's own rhythm


def compose(seed: int, *, voices: int = 2, measures: int = 24, kinds: tuple[str, ...] = KINDS) -> Composition:
    """Compose a piece; the same arguments give the same piece."""
    draft = _draft(seed, voices)
    _exposition(draft)
    while max(voice.end for voice in draft.voices) < measures * draft.measure:
        draft.random.choice((_entry, _entry, _entry, _sequence, _stretto, _episode))(draft, kinds)
    for voice in draft.voices:
        _free(draft, voice, _round_up(max(v.end for v in draft.voices), draft.measure))
    return _written(draft, seed)


def _draft(seed: int, voices: int) -> _Draft:
    random = Random(seed)
    measure = random.choice((16, 16, 12))
    hands: list[Hand] = ["right", "left"] if voices == 2 else ["right", "right", "left"]
    centres = [35, 23] if voices == 2 else [36, 30, 22]
    voice_list = [
        _Voice(index + 1, hand, centre) for index, (hand, centre) in enumerate(zip(hands, centres, strict=True))
    ]
    draft = _Draft(random, measure, voice_list, _new_subject(random, measure))
    draft.kin = random.random() < 0.4
    if random.random() < 0.4:
        first, last = draft.subject[0], draft.subject[-1]
        weights = STEP_WEIGHTS["smooth"]
        draft.countersubject = _walk(random, first[0], last[0] + last[1], 0, weights, FREE_CELLS["mixed"], 7)
    return draft


def compose_without_subject(seed: int, *, voices: int = 2, measures: int = 24) -> Piece:
    """Compose free counterpoint in which nothing is planted."""
    draft = _draft(seed, voices)
    for voice in draft.voices:
        _free(draft, voice, measures * draft.measure)
    return _piece(draft, seed)


def _new_subject(random: Random, measure: int) -> list[Tone]:
    """Return a subject of half a measure to three measures with at least four kinds of movement."""
    while True:
        offset = random.choice((0, 0, 0, 1, 2, 2, measure - 4, measure - 2))
        length = random.choice((measure // 2, measure, measure, 3 * measure // 2, 2 * measure, 3 * measure))
        weights = STEP_WEIGHTS[random.choice(("smooth", "smooth", "leaping"))]
        cells = random.choice((CELLS, CELLS, FREE_CELLS["running"], FREE_CELLS["walking"]))
        tones = _walk(random, offset, offset + length, 0, weights, cells, 7)
        moves = [(b[2] - a[2], a[1]) for a, b in pairwise(tones)]
        if len(tones) >= 7 and len(set(moves)) >= 4 and sum(abs(move) > 1 for move, _ in moves) >= 2:
            return tones


def _walk(
    random: Random,
    start: int,
    end: int,
    step: int,
    weights: dict[int, int],
    cells: tuple[tuple[int, ...], ...],
    reach: int,
) -> list[Tone]:
    """Return tones that walk from `step` within `reach` steps of 0, filling the time exactly."""
    tones: list[Tone] = []
    time = start
    while time < end:
        for length in random.choice(cells):
            if time >= end:
                break
            length = min(length, end - time)
            tones.append((time, length, step))
            time += length
            moves = {move: weight for move, weight in weights.items() if abs(step + move) <= reach}
            step += random.choices(list(moves), list(moves.values()))[0]
    return tones


def _free(draft: _Draft, voice: _Voice, until: int) -> None:
    """Fill the voice with free counterpoint (or rests) up to `until`."""
    random = draft.random
    while voice.end < until:
        stop = min(until, voice.end + random.choice((8, 16, 32)))
        silent = random.random() < 0.12 or (not voice.tones and random.random() < 0.5)
        if silent and (stop == until or not voice.tones):
            _rest(voice, stop)
            continue
        style = random.choice(("running", "walking", "mixed", "slow"))
        cells: tuple[tuple[int, ...], ...] = FREE_CELLS[style]
        if draft.kin and random.random() < 0.5:
            cells = (tuple(length for _, length, _ in draft.subject),)
        weights = STEP_WEIGHTS[random.choice(("smooth", "smooth", "leaping", "arpeggio"))]
        last = voice.tones[-1][2] - voice.centre if voice.tones else 0
        start = max(-6, min(6, last + random.choice((-1, 1, 2, -2))))
        walked = _walk(random, voice.end, stop, start, weights, cells, 9)
        voice.tones += [(time, length, voice.centre + step) for time, length, step in walked]


def _rest(voice: _Voice, until: int) -> None:
    voice.tones.append((voice.end, until - voice.end, -1))


def _round_up(time: int, unit: int) -> int:
    return -(-time // unit) * unit


def _slot(draft: _Draft, time: int) -> int:
    """Return the next time at or after `time` whose place in the half measure (or beat) suits the subject."""
    offset = draft.subject[0][0]
    unit = draft.random.choice((draft.measure, draft.measure, 8 if draft.measure == 16 else 4))
    start = (time // unit) * unit + offset % unit
    while start < time:
        start += unit
    return start


def _plant(draft: _Draft, voice: _Voice, start: int, kind: str, shift: int | None = None) -> None:
    """State the subject in `voice` at `start` (free counterpoint before it), as `kind` says."""
    random = draft.random
    if shift is None:
        shift = voice.centre + random.randint(-4, 4)
    tones = [(time - draft.subject[0][0] + start, length, step + shift) for time, length, step in draft.subject]
    form = "upright"
    if kind == "inverted" or (kind != "plain" and random.random() < 0.2):
        tones = [(time, length, 2 * shift - step) for time, length, step in tones]
        form = "inverted"
    tones = VARIATIONS[kind](random, tones)
    if kind == "tied" and tones[0][0] < voice.end:
        tones[0] = (start, tones[0][1] - (start - tones[0][0]), tones[0][2])
    _accompany(draft, voice, start, shift)
    draft.planted.append(
        Planted(voice.number, voice.hand, Fraction(tones[0][0], 4), form, kind),
    )
    _free(draft, voice, tones[0][0])
    voice.tones = _cut(voice.tones, tones[0][0]) + tones


def _cut(tones: list[Tone], at: int) -> list[Tone]:
    """End a line where another begins: a countersubject gives way to an entry."""
    return [(time, min(length, at - time), step) for time, length, step in tones if time < at]


def _accompany(draft: _Draft, voice: _Voice, start: int, shift: int) -> None:
    """Let another voice that has nothing to do yet play the countersubject."""
    if not draft.countersubject or draft.random.random() < 0.3:
        return
    for other in draft.voices:
        if other is not voice and other.tones and other.end <= start:
            _free(draft, other, start)
            move = start - draft.subject[0][0]
            other.tones += [
                (time + move, length, step + other.centre + (shift - voice.centre))
                for time, length, step in draft.countersubject
            ]
            return


def _exposition(draft: _Draft) -> None:
    """State the subject in each voice in turn; the others rest, go with it, or begin at once."""
    random = draft.random
    order = draft.voices[:] if random.random() < 0.6 else draft.voices[::-1]
    time = draft.subject[0][0]
    together = random.random() < 0.3
    length = draft.subject[-1][0] + draft.subject[-1][1] - draft.subject[0][0]
    apart = _round_up(length, draft.measure // 2) if random.random() < 0.7 else max(4, _round_up(length // 2, 4))
    for number, voice in enumerate(order):
        if not together or number == 0:
            _rest(voice, time)
        _plant(
            draft,
            voice,
            time,
            "plain" if number == 0 or random.random() < 0.7 else "tonal",
            shift=voice.centre + (4 if number % 2 else 0),
        )
        time += apart


def _entry(draft: _Draft, kinds: tuple[str, ...]) -> None:
    voice = draft.random.choice(draft.voices)
    _plant(draft, voice, _slot(draft, voice.end + draft.random.choice((0, 0, 4, 8))), draft.random.choice(kinds))
    _keep_up(draft)


def _sequence(draft: _Draft, kinds: tuple[str, ...]) -> None:
    """Two to four statements of one kind, each a step or a third further, in one voice or by turns."""
    random = draft.random
    kind = random.choice([kind for kind in kinds if kind in ("plain", "inverted")] or ["plain"])
    voices = [random.choice(draft.voices)] if random.random() < 0.5 else draft.voices[:]
    move = random.choice((-2, -1, 1, 2))
    length = draft.subject[-1][0] + draft.subject[-1][1] - draft.subject[0][0]
    apart = _round_up(length, 8 if draft.measure == 16 else 4)
    time = _slot(draft, max(voice.end for voice in voices))
    for number in range(random.choice((2, 3, 4))):
        voice = voices[number % len(voices)]
        _plant(draft, voice, time, kind, shift=voice.centre + number * move)
        time += apart
    _keep_up(draft)


def _stretto(draft: _Draft, kinds: tuple[str, ...]) -> None:
    time = _slot(draft, max(voice.end for voice in draft.voices))
    length = draft.subject[-1][0] + draft.subject[-1][1] - draft.subject[0][0]
    for voice in draft.random.sample(draft.voices, len(draft.voices)):
        _plant(draft, voice, time, "plain")
        time += max(4, _round_up(length // 2, 4))


def _episode(draft: _Draft, kinds: tuple[str, ...]) -> None:
    until = _round_up(max(voice.end for voice in draft.voices), draft.measure) + draft.measure
    for voice in draft.voices:
        _free(draft, voice, until)


def _keep_up(draft: _Draft) -> None:
    """Let no voice fall more than two measures behind."""
    ahead = max(voice.end for voice in draft.voices)
    for voice in draft.voices:
        if ahead - voice.end > 2 * draft.measure:
            _free(draft, voice, ahead - draft.measure)


def _piece(draft: _Draft, seed: int) -> Piece:
    random = draft.random
    fifths = random.choice((-2, -1, 0, 0, 1, 2))
    length = Fraction(draft.measure, 4)
    count = -(-max(voice.end for voice in draft.voices) // draft.measure)
    local = [fifths + random.choice((0, 0, 0, 1, -1)) for _ in range(count)]
    notes = [
        Note(
            id=f"v{voice.number}n{index}",
            hand=voice.hand,
            voice=voice.number,
            onset=Fraction(time, 4),
            duration=Fraction(duration, 4),
            pitch=spelled(step, local[time // draft.measure]),
        )
        for voice in draft.voices
        for index, (time, duration, step) in enumerate(voice.tones)
        if step >= 0
    ]
    notes.sort(key=lambda note: (note.onset, note.hand != "right", note.midi))
    return Piece(
        title=f"Composition {seed}",
        composer="",
        source_hash=str(seed),
        measures=tuple(
            Measure(f"m{index}", index, index + 1, index * length, length, draft.measure // 4, 4)
            for index in range(count)
        ),
        key_signatures=(KeySignature(Fraction(0), fifths),),
        notes=tuple(notes),
    )


def _written(draft: _Draft, seed: int) -> Composition:
    piece = _piece(draft, seed)
    first = draft.planted[0]
    chosen = [note for note in piece.voice_notes(first.voice) if note.onset >= first.onset][: len(draft.subject)]
    subject = Subject(
        hand=first.hand,
        voice=first.voice,
        start=piece.place(chosen[0].onset),
        end=piece.place(chosen[-1].onset),
        notes=tuple(note.id for note in chosen),
        confidence=1.0,
        reason="planted",
    )
    return Composition(piece, subject, tuple(sorted(draft.planted, key=lambda p: (p.onset, p.voice))))


def spelled(step: int, fifths: int) -> Pitch:
    """Return scale step `step` (C4 is 28) with the accidentals of a key signature of `fifths` sharps or flats."""
    letter = STEPS[step % 7]
    sharps = "FCGDAEB".index(letter) < fifths
    flats = "BEADGCF".index(letter) < -fifths
    return Pitch(letter, int(sharps) - int(flats), step // 7)
