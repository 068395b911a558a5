"""The key of the piece and of each measure.

The key of the piece is weighed from four things: its signature (with the mode where the file says one), the lowest
note of its last chord, the measures at both ends, and how much of it the key fills. A last chord in major does
not make a minor piece major (the raised third at the end is common practice, no source).
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import groupby

import numpy as np

from counterpane.analysis.key_names import ALL_KEYS, Key, keys_of_signature
from counterpane.analysis.key_path import beat_evidence, best_path
from counterpane.analysis.meter import beats_of
from counterpane.analysis.steps import Floats
from counterpane.model.analysis import KeyOfMeasure
from counterpane.model.piece import Piece

_SIGNATURE = 2.5
_NEAR_SIGNATURE = 0.8
# Programs that write scores say "major" where nobody has chosen, "minor" only where somebody has.
_SAID_MODE = {"major": 2.0, "minor": 3.0}
_LAST_BASS = 4.0
_ENDS = 2.0
_FILLED = 2.0
_FIRST_FALL_OFF = 1.0
_ENDS_BEATS = 12
_FINEST = 10_000


def find_keys(piece: Piece) -> tuple[str, tuple[KeyOfMeasure, ...]]:
    """Return the key of the piece, and for each measure the key of most of its beats.

    The confidence of a measure's key is its mean posterior probability over the beats.
    """
    beats = beats_of(piece)
    evidence = beat_evidence(piece, beats)
    path, shares = best_path(evidence, _prior(piece))
    measures = [piece.measure_at(Fraction(beat).limit_denominator(_FINEST)).index for beat in beats]
    keys = []
    for measure, rows in groupby(range(len(beats)), key=measures.__getitem__):
        here = list(rows)
        column = Counter(path[row] for row in here).most_common(1)[0][0]
        confidence = round(float(shares[here, column].mean()), 2)
        keys.append(KeyOfMeasure(piece.measures[measure].number, ALL_KEYS[column].name, confidence))
    return _key_of_piece(piece, shares).name, tuple(keys)


def _prior(piece: Piece) -> Floats:
    """Return the log prior of the first measure's key: the nearer to the signature, the likelier."""
    if not piece.key_signatures:
        return np.zeros(len(ALL_KEYS))
    fifths = piece.key_signatures[0].fifths
    return np.array([-_FIRST_FALL_OFF * abs((key.signature - fifths + 6) % 12 - 6) for key in ALL_KEYS])


def _key_of_piece(piece: Piece, shares: Floats) -> Key:
    ends = min(_ENDS_BEATS, len(shares))
    bass = _last_bass(piece)
    credit = [_signature_weight(piece, key) + _LAST_BASS * (key.tonic == bass) for key in ALL_KEYS]
    weighed = (
        _ENDS * (shares[:ends].mean(axis=0) + shares[-ends:].mean(axis=0))
        + _FILLED * shares.mean(axis=0)
        + np.array(credit)
    )
    return ALL_KEYS[int(weighed.argmax())]


def _signature_weight(piece: Piece, key: Key) -> float:
    if not piece.key_signatures:
        return 0.0
    signature = piece.key_signatures[0]
    if key in keys_of_signature(signature):
        return _SIGNATURE + (_SAID_MODE[key.mode] if signature.mode == key.mode else 0.0)
    # Older scores leave out the last flat or sharp of the signature.
    return _NEAR_SIGNATURE if abs(key.signature - signature.fifths) == 1 else 0.0


def _last_bass(piece: Piece) -> int | None:
    """Return the pitch class of the lowest note of the last chord, None where there are no notes."""
    if not piece.notes:
        return None
    last = piece.notes[-1].onset
    return min(note.midi for note in piece.notes[-40:] if note.end > last) % 12
