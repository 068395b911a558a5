"""The key of the piece and of each measure.

The key of the piece is weighed from four things: its signature (with the mode where the file says one), the lowest
note of its last chord, the measures at both ends, and how much of it the key fills. A last chord in major does
not make a minor piece major (the raised third at the end is common practice, no source).
"""

from __future__ import annotations

import numpy as np

from counterpane.analysis.key_names import ALL_KEYS, Key, keys_of_signature
from counterpane.analysis.key_path import best_path, measure_evidence
from counterpane.analysis.steps import Floats
from counterpane.model.analysis import KeyOfMeasure
from counterpane.model.piece import Piece

_SIGNATURE = 2.5
_NEAR_SIGNATURE = 0.8
_SAID_MODE = 2.0
_LAST_BASS = 2.5
_ENDS = 2.0
_FILLED = 3.0
_FIRST_FALL_OFF = 0.8
_HOME = 0.3
_HOME_AT_ENDS = 1.5


def find_keys(piece: Piece) -> tuple[str, tuple[KeyOfMeasure, ...]]:
    """Return the key of the piece and the key of each measure with a confidence (its posterior probability)."""
    evidence = measure_evidence(piece)
    _, shares = best_path(evidence, _prior(piece))
    home = _key_of_piece(piece, shares)
    path, shares = best_path(_drawn_home(evidence, home), _prior(piece))
    keys = tuple(
        KeyOfMeasure(measure.number, ALL_KEYS[column].name, round(float(row[column]), 2))
        for measure, column, row in zip(piece.measures, path, shares, strict=True)
    )
    return home.name, keys


def _drawn_home(evidence: Floats, home: Key) -> Floats:
    """Credit the key of the piece a little everywhere, and more in the first and in the last measure."""
    drawn = evidence.copy()
    column = ALL_KEYS.index(home)
    drawn[:, column] += _HOME
    drawn[[0, -1], column] += _HOME_AT_ENDS
    return drawn


def _prior(piece: Piece) -> Floats:
    """Return the log prior of the first measure's key: the nearer to the signature, the likelier."""
    if not piece.key_signatures:
        return np.zeros(len(ALL_KEYS))
    fifths = piece.key_signatures[0].fifths
    return np.array([-_FIRST_FALL_OFF * abs((key.signature - fifths + 6) % 12 - 6) for key in ALL_KEYS])


def _key_of_piece(piece: Piece, shares: Floats) -> Key:
    ends = min(4, len(shares))
    weighed = (
        _ENDS * (shares[:ends].mean(axis=0) + shares[-ends:].mean(axis=0))
        + _FILLED * shares.mean(axis=0)
        + np.array([_signature_weight(piece, key) + _last_bass_weight(piece, key) for key in ALL_KEYS])
    )
    return ALL_KEYS[int(weighed.argmax())]


def _signature_weight(piece: Piece, key: Key) -> float:
    if not piece.key_signatures:
        return 0.0
    signature = piece.key_signatures[0]
    if key in keys_of_signature(signature):
        return _SIGNATURE + (_SAID_MODE if signature.mode == key.mode else 0.0)
    # Older scores leave out the last flat or sharp of the signature.
    return _NEAR_SIGNATURE if abs(key.signature - signature.fifths) == 1 else 0.0


def _last_bass_weight(piece: Piece, key: Key) -> float:
    if not piece.notes:
        return 0.0
    last = piece.notes[-1].onset
    sounding = [note for note in piece.notes[-40:] if note.end > last]
    return _LAST_BASS if min(sounding, key=lambda note: note.midi).midi % 12 == key.tonic else 0.0
