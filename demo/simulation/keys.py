"""Which keys a hand strikes by mistake, and which an ornament asks for."""

from __future__ import annotations

from random import Random

from counterpane.model.piece import Note, Piece

_MAJOR = frozenset({0, 2, 4, 5, 7, 9, 11})
_LOWEST, _HIGHEST = 21, 108


def scale_at(piece: Piece, note: Note) -> frozenset[int]:
    """Return the pitch classes of the key signature in force at a note."""
    fifths = 0
    for signature in piece.key_signatures:
        if signature.onset <= note.onset:
            fifths = signature.fifths
    return frozenset((pitch_class + 7 * fifths) % 12 for pitch_class in _MAJOR)


def neighbour_in_scale(key: int, direction: int, scale: frozenset[int]) -> int:
    """Return the next key of the scale above (1) or below (-1)."""
    key += direction
    while key % 12 not in scale:
        key += direction
    return key


def wrong_key(key: int, scale: frozenset[int], any_key: float, chance: Random) -> int:
    """Return another key than the right one: the next key, the next of the scale, an octave, or any near."""
    direction = chance.choice((-1, 1))
    kind = chance.random()
    if kind < any_key:
        wrong = key + direction * chance.randint(3, 11)
    elif kind < any_key + (1 - any_key) * 0.35:
        wrong = key + direction
    elif kind < any_key + (1 - any_key) * 0.88:
        wrong = neighbour_in_scale(key, direction, scale)
    else:
        wrong = key + 12 * direction
    return wrong if _LOWEST <= wrong <= _HIGHEST else key + 1


def ornament_keys(note: Note, graces: tuple[int, ...], scale: frozenset[int], chance: Random) -> tuple[int, ...]:
    """Return the keys of an ornament played out, the written note among them (common practice, no source)."""
    key = note.midi
    upper, lower = neighbour_in_scale(key, 1, scale), neighbour_in_scale(key, -1, scale)
    sign = note.ornaments[0] if note.ornaments else ""
    if sign == "trill":
        return (upper, key) * chance.randint(2, 4)
    shapes = {
        "mordent": (key, lower, key),
        "inverted-mordent": (key, upper, key),
        "turn": (upper, key, lower, key),
        "inverted-turn": (lower, key, upper, key),
        "appoggiatura": (upper, key),
    }
    return (*graces, *shapes.get(sign, (key,)))
