"""Puzzles about single places: the highest note, the key, where the music comes to rest."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from counterpane.analysis.puzzles_material import SURE, Material, Question, Stretch
from counterpane.analysis.texture import notes_begun
from counterpane.model.analysis import Cadence, Puzzle
from counterpane.model.piece import Hand, Note, Pitch
from counterpane.units import pitch_name

_FLAT_SIDE = ("Fb", "Cb", "Gb", "Db", "Ab", "Eb", "Bb")
_FIFTHS = (*_FLAT_SIDE, "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#")
_KINDS = ("authentic", "half", "deceptive", "plagal")
_LEAST_NOTES = 6
_FITS = 0.95
_CLEARLY_LESS = 0.05
_ORNAMENT_REACH = 4


def place_puzzles(material: Material) -> Iterator[Puzzle]:
    """Return the puzzles about the highest note, keys and cadences."""
    for stretch in material.stretches:
        yield from _highest(material, stretch, "right")
        yield from _highest(material, stretch, "left")
        if stretch.section is not None:
            yield from _key(material, stretch)
    for cadence in material.analysis.cadences:
        yield from _cadence(material, cadence)


def _highest(material: Material, stretch: Stretch, hand: Hand) -> Iterator[Puzzle]:
    notes = material.notes_in(stretch, hand)
    if len(notes) < _LEAST_NOTES:
        return
    top = max(notes, key=lambda note: note.midi)
    if sum(note.midi == top.midi for note in notes) > 1 or _ornaments_reach(material, stretch, notes, top):
        return
    say = material.words.say
    place = material.piece.place(top.onset)
    hint = material.heads(note.id for note in sorted(notes, key=lambda note: -note.midi)[:4])
    name = f"{stretch.name}-{hand}"
    level = 1 if stretch.section is not None else 2
    pitch = say(f"note.{pitch_name(top.pitch).rstrip('-0123456789')}") + str(top.pitch.octave)
    yield Question("tap-highest", level, name, (stretch.first, stretch.last), (top.id,), hint).ask(
        say("tap-highest.question", where=stretch.where, hand=material.hand(hand)),
        say("tap-highest.explanation", pitch=pitch, place=material.place(place)),
        (top.id,),
        groups=[material.heads([top.id])],
    )


def _ornaments_reach(material: Material, stretch: Stretch, notes: list[Note], top: Note) -> bool:
    """Whether a grace note or an ornament may sound as high as the highest written note."""
    graces = any(grace.pitch.midi >= top.midi for grace in material.graces_in(stretch))
    return graces or any(note.ornaments and note.midi + _ORNAMENT_REACH > top.midi for note in notes)


def _key(material: Material, stretch: Stretch) -> Iterator[Puzzle]:
    key = material.key_of(stretch)
    section = stretch.section
    if section is None or key is None or key != section.key:
        return
    notes = material.notes_in(stretch)
    times = sounding_times(notes)
    fit = share_in_scale(times, key)
    # A key that holds the notes almost as well could be defended, so it is not offered.
    others = [each for each in related_keys(key) if share_in_scale(times, each) <= fit - _CLEARLY_LESS][:3]
    if fit < _FITS or len(others) < 3:
        return
    say = material.words.say
    right_at = sum(map(ord, stretch.name)) % 4
    choices = [*others[:right_at], key, *others[right_at:]]
    hint = material.heads(note.id for note in notes[-2:])
    question = Question("choose-key", 3, stretch.name, (stretch.first, stretch.last), [n.id for n in notes], hint)
    yield question.ask(
        say("choose-key.question", where=stretch.where),
        say("choose-key.explanation", key=material.key(key)),
        right_at,
        choices=[material.key(each) for each in choices],
    )


def sounding_times(notes: Sequence[Note]) -> dict[str, Fraction]:
    """Return for each spelled pitch class, such as "F#", how long it sounds in all, in quarters."""
    counts = Counter((note.pitch.step, note.pitch.alter, note.duration) for note in notes)
    times: dict[str, Fraction] = defaultdict(Fraction)
    for (step, alter, duration), count in counts.items():
        times[pitch_name(Pitch(step, alter, 0)).rstrip("-0123456789")] += count * duration
    return times


def share_in_scale(times: Mapping[str, Fraction], key: str) -> float:
    """Return the share of the sounding time in a key's scale (minor has both sixths and sevenths), 0 if silent."""
    tonic, _, mode = key.partition(" ")
    at = _FIFTHS.index(tonic)
    # On the line of fifths a major scale runs from one below its tonic to five above.
    scale = range(at - 1, at + 6) if mode == "major" else range(at - 4, at + 6)
    missing = () if mode == "major" else (at + 4,)
    names = {_FIFTHS[place] for place in scale if 0 <= place < len(_FIFTHS) and place not in missing}
    inside = sum(time for name, time in times.items() if name in names)
    sounding = sum(times.values())
    return float(inside / sounding) if sounding else 0.0


def related_keys(key: str) -> list[str]:
    """Return the keys around `key` on the circle of fifths, the relative key first."""
    tonic, _, mode = key.partition(" ")
    at = _FIFTHS.index(tonic)
    other = "minor" if mode == "major" else "major"
    across = 3 if mode == "major" else -3
    same, relative = [(by, mode) for by in (1, -1, 2, -2)], [(across + by, other) for by in (0, 1, -1)]
    near = (relative[0], *same[:2], *relative[1:], *same[2:])
    return [f"{_FIFTHS[at + by]} {name}" for by, name in near if 0 <= at + by < len(_FIFTHS)]


def _cadence(material: Material, cadence: Cadence) -> Iterator[Puzzle]:
    arrival = material.piece.measure_at(cadence.place.offset)
    first = material.piece.measures[max(0, arrival.index - 2)]
    alone = material.cadences_between(first, arrival) == (cadence,)
    struck = notes_begun(material.piece, arrival.onset, arrival.end)
    bass = _bass(struck, cadence)
    if cadence.confidence < SURE["cadence"] or not alone or bass is None:
        return
    say = material.words.say
    place, key = material.place(cadence.place), material.key(cadence.key)
    name = f"{arrival.index + 1}"
    hint = material.heads(note.id for note in struck)
    yield Question("tap-cadence", 2, name, (first, arrival), cadence.notes, hint).ask(
        say("tap-cadence.question", measures=material.measures(first, arrival)),
        say("tap-cadence.explanation", place=place, key=key),
        (bass.id,),
        groups=[material.heads([bass.id])],
    )
    yield Question("choose-cadence", 3, name, (first, arrival), cadence.notes, material.heads([bass.id])).ask(
        say("choose-cadence.question", place=place),
        say("choose-cadence.explanation", kind=say(f"word.{cadence.kind}"), key=key),
        _KINDS.index(cadence.kind),
        choices=[say(f"word.{kind}") for kind in _KINDS],
    )


def _bass(notes: Iterable[Note], cadence: Cadence) -> Note | None:
    """Return the one lowest of `notes` that is struck in the left hand where the cadence arrives, or None."""
    struck = [note for note in notes if note.onset == cadence.place.offset and note.hand == "left"]
    return min(struck, key=lambda note: note.midi, default=None)
