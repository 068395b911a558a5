"""Cadences: where the music comes to rest, in which key, and how.

Kinds (common practice, no source): *authentic*, the dominant moves to its tonic; *half*, a phrase stops on the
dominant; *deceptive*, the dominant's leading tone rises but the bass goes to the sixth degree; *plagal*, the
fourth degree moves to the first at a close. In two parts chords are implied: the bass motion and the leading
tone's resolution are the evidence. A close must also be heard as one: on a strong beat, with longer
notes, a rest, a fermata or the end of a part.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from counterpane.analysis.arrivals import Arrival, arrivals
from counterpane.analysis.key_names import Key, fifth_of, key_from_name
from counterpane.analysis.texture import texture_of
from counterpane.model.analysis import Cadence, CadenceKind, KeyOfMeasure
from counterpane.model.piece import Note, Piece

_THRESHOLD = 5.0
# A key that is not heard around the arrival costs so much, less where its leading tone sounds just before.
_FOREIGN_KEY = 1.4
_FOREIGN_KEY_LED_TO = 0.6
_APART_BEATS = 2
# How still it must be for a bass that only steps down to the tonic to be heard as a close.
_AT_REST = 0.5


@dataclass(frozen=True)
class _Close:
    """A candidate: its kind and key, the points for it, and what they were given for."""

    arrival: Arrival
    key: Key
    kind: CadenceKind
    points: float
    grounds: tuple[str, ...]


_Kind = tuple[CadenceKind, float, tuple[str, ...]]


def find_cadences(piece: Piece, keys: tuple[KeyOfMeasure, ...]) -> tuple[Cadence, ...]:
    """Return the cadences of `piece` in time order."""
    texture = texture_of(piece)
    named = [key_from_name(key.key) for key in keys]
    closes = [
        close for arrival in arrivals(piece, texture) if (close := _best(arrival, named)) and _is_heard(close)
    ]
    return tuple(_cadence(piece, close) for close in _strongest(closes))


def cadence_name(cadence: Cadence) -> str:
    """Return how a sentence names a cadence: "an authentic cadence in G major"."""
    return f"{'an' if cadence.kind == 'authentic' else 'a'} {cadence.kind} cadence in {cadence.key}"


def _is_heard(close: _Close) -> bool:
    return close.arrival.fermata or close.points >= _THRESHOLD


def _best(arrival: Arrival, keys: list[Key]) -> _Close | None:
    if arrival.bass_before and arrival.bass.voice != arrival.bass_before[0].voice:
        return None  # the lowest voice is silent: nothing says that the harmony has moved
    index = arrival.measure.index
    at_hand = {keys[index]: 0.0, keys[max(0, index - 1)]: 0.0}
    tonic = fifth_of(arrival.bass.pitch)
    led = any((note.midi + 1 - arrival.bass.midi) % 12 == 0 for note in arrival.chord_before)
    for key in (Key(tonic, "major"), Key(tonic, "minor")):
        at_hand.setdefault(key, _FOREIGN_KEY_LED_TO if led else _FOREIGN_KEY)
    closes = [
        _Close(arrival, key, kind, points + _ending(arrival) - charge, grounds)
        for key, charge in at_hand.items()
        for kind, points, grounds in _kinds(arrival, key, foreign=charge > 0)
    ]
    return max(closes, key=lambda close: close.points, default=None)


def _kinds(arrival: Arrival, key: Key, *, foreign: bool) -> list[_Kind]:
    """Return what the arrival may be in a key; one that is not heard around it needs a dominant to be believed."""
    kinds = [_authentic(arrival, key), _half(arrival, key), _deceptive(arrival, key)]
    if not foreign:
        kinds += [_plagal(arrival, key), _phrase_end(arrival, key)]
    return [kind for kind in kinds if kind is not None]


def _authentic(arrival: Arrival, key: Key) -> _Kind | None:
    if _degree(arrival.bass, key) != 0 or not _mode_fits(arrival, key):
        return None
    from_dominant = _bass_degree_before(arrival, key) == 7
    leading = _leading_tone_resolves(arrival, key)
    if not (from_dominant or leading):
        return None
    points, grounds = 0.0, []
    if from_dominant:
        points += 2.2
        grounds.append("the bass goes from the dominant to the tonic")
    if leading:
        points += 1.5
        grounds.append("the leading tone rises to the tonic")
    if leading and _bass_degree_before(arrival, key) == 2 and arrival.stillness >= _AT_REST:
        points += 1.0
        grounds.append("the bass steps down to it")
    points += _formula(arrival, key)
    return "authentic", points, tuple(grounds)


def _formula(arrival: Arrival, key: Key) -> float:
    """Return the points for the turns closes are made of: those of the bass, and 2-1 or 7-1 on top."""
    points = _prepared(arrival, key)
    top = _degree(arrival.top, key)
    if top == 0:
        points += 0.9 + (0.4 if {_degree(note, key) for note in arrival.top_before} & {2, 11} else 0.0)
    elif top in (3, 4):
        points += 0.3
    return points


def _prepared(arrival: Arrival, key: Key) -> float:
    """Return the points for how the bass comes to a dominant: 4-5 or 2-5, and an octave on it."""
    bass = arrival.bass_before
    if len(bass) < 2 or _degree(bass[0], key) != 7:
        return 0.0
    octave = _degree(bass[1], key) == 7 and abs(bass[1].midi - bass[0].midi) == 12
    prepared = {_degree(note, key) for note in bass[1:]} & {2, 5}
    return (0.8 if octave else 0.0) + (0.4 if prepared else 0.0)


def _half(arrival: Arrival, key: Key) -> _Kind | None:
    degrees = {_degree(note, key) for note in arrival.chord}
    if _degree(arrival.bass, key) != 7 or not degrees <= {7, 11, 2} or _bass_degree_before(arrival, key) == 7:
        return None
    # A stop on the dominant is one only where a stop is heard.
    heard = arrival.fermata or (arrival.stillness >= 0.9 and arrival.strength >= 2)
    points = 2.0 + (0.8 if 11 in degrees else 0.0) + (0.0 if heard else -2.5)
    return "half", points, ("the phrase stops on the dominant",)


def _deceptive(arrival: Arrival, key: Key) -> _Kind | None:
    sixth = 9 if key.mode == "major" else 8
    if _degree(arrival.bass, key) != sixth or _bass_degree_before(arrival, key) != 7:
        return None
    if not _leading_tone_resolves(arrival, key):
        return None
    points = 3.2 + _prepared(arrival, key)
    return "deceptive", points, ("the leading tone rises to the tonic, but the bass steps up to the sixth degree",)


def _plagal(arrival: Arrival, key: Key) -> _Kind | None:
    before = {_degree(note, key) for note in arrival.chord_before}
    ends = arrival.last or arrival.fermata
    if _degree(arrival.bass, key) != 0 or _bass_degree_before(arrival, key) != 5 or 11 in before or not ends:
        return None
    return (
        ("plagal", 2.4, ("the bass goes from the fourth degree to the tonic",))
        if _mode_fits(arrival, key)
        else None
    )


def _ending(arrival: Arrival) -> float:
    """Return the points for being heard as an end, whatever the chords."""
    return (
        {3: 0.8, 2: 0.5, 1: 0.0, 0: -0.8}[arrival.strength]
        + 2.2 * arrival.stillness
        + (2.0 if arrival.fermata else 0.0)
        + (2.0 if arrival.last else 0.0)
        + (1.5 if arrival.closes_repeat else 0.0)
    )


def _degree(note: Note, key: Key) -> int:
    return (note.midi - key.tonic) % 12


def _bass_degree_before(arrival: Arrival, key: Key) -> int | None:
    return _degree(arrival.bass_before[0], key) if arrival.bass_before else None


def _phrase_end(arrival: Arrival, key: Key) -> _Kind | None:
    """Read a chord under a fermata that no formula leads to by its bass: the tonic or the dominant."""
    degree = _degree(arrival.bass, key)
    if not arrival.fermata or degree not in (0, 3, 4, 7):
        return None
    if degree == 7:
        return "half", 0.6, ("the phrase ends on the dominant under a fermata",)
    return "authentic", 0.6, ("the phrase ends on the tonic under a fermata",)


def _leading_tone_resolves(arrival: Arrival, key: Key) -> bool:
    return any(_degree(a, key) == 11 and _degree(b, key) == 0 and b.midi - a.midi == 1 for a, b in arrival.moves)


def _mode_fits(arrival: Arrival, key: Key) -> bool:
    """Say whether the third is the key's: the chord's or, where it has none, the last one heard on the way to it.

    A raised third may end a piece in minor.
    """
    third = 3 if key.mode == "minor" else 4
    thirds = {_degree(note, key) for note in arrival.chord} & {3, 4}
    if thirds:
        return third in thirds or (key.mode == "minor" and arrival.last)
    heard = [degree for note in arrival.approach if (degree := _degree(note, key)) in (3, 4)]
    return not heard or heard[-1] == third


def _strongest(closes: list[_Close]) -> list[_Close]:
    """Of closes within two beats of each other keep the strongest; one under a fermata always stays.

    What only goes on with the chord of a close, in its measure, is no further one.
    """
    kept: list[_Close] = []
    for close in closes:
        previous = kept[-1] if kept else None
        if previous is not None and _goes_on(previous, close):
            continue
        if previous is None or not _is_near(previous.arrival, close.arrival):
            kept.append(close)
        elif close.points > previous.points and not previous.arrival.fermata:
            kept[-1] = close
    return kept


def _goes_on(previous: _Close, close: _Close) -> bool:
    """Say whether nothing but the tonic chord has sounded since a close in the same key and measure."""
    same = close.kind == previous.kind == "authentic" and close.key == previous.key
    broken = {_degree(note, close.key) for note in (*close.arrival.chord_before, *close.arrival.bass_before[:1])}
    return same and previous.arrival.measure == close.arrival.measure and broken <= {0, 3, 4, 7}


def _is_near(one: Arrival, other: Arrival) -> bool:
    return other.offset - one.offset < _APART_BEATS and not (one.fermata and other.fermata)


def _cadence(piece: Piece, close: _Close) -> Cadence:
    confidence = 1 / (1 + exp(-(close.points - _THRESHOLD + 1)))
    grounds = " and ".join(close.grounds)
    return Cadence(
        piece.place(close.arrival.offset),
        close.key.name,
        close.kind,
        close.arrival.notes,
        round(min(0.99, confidence), 2),
        f"{grounds[0].upper()}{grounds[1:]} in {close.key.name}.",
    )
