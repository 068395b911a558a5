"""The key of every beat, as the most probable path through the piece.

Method: a hidden Markov model. A key makes each pitch class sound with the shares of Kostka and Payne's examples
as Temperley gives them (*Music and Probability*, 2007, chapter 6; the values below, by degree from the tonic,
scaled to sum to one); the key stays from beat to beat or changes, a near key being likelier than a far one; the
best path is found by dynamic programming (Viterbi 1967), the confidence by the forward-backward algorithm.

Differences from the source: beats instead of segments of a measure, durations instead of presence; the bass
speaks once more (a tonic there is worth more than a passing one); a note that a key never spells so counts against
it (G# belongs to A minor, Ab does not). Relative and parallel keys differ in these shares by their leading tones:
the raised seventh is three times as likely in minor as the natural one. The weights were chosen on ten chorales of
J. S. Bach with published analyses of their harmony and checked on eight others (tests/published/test_keys.py).
"""

from __future__ import annotations

import numpy as np

from counterpane.analysis.key_names import ALL_KEYS, Key, fifth_of
from counterpane.analysis.meter import beats_under
from counterpane.analysis.steps import Floats
from counterpane.model.piece import Piece

MAJOR_SHARES = (0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400)
MINOR_SHARES = (0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330)
_SOUND = 3.0
_BASS_TONIC = 0.8
_BASS_DOMINANT = 0.2
_MISSPELT = -1.5
_STAY = 0.85
_FALL_OFF = 0.5
_OTHER_MODE = 0.25
_PARALLEL = 2.0


def beat_evidence(piece: Piece, beats: list[float]) -> Floats:
    """Return log likelihoods: one row a beat, one column a key of `ALL_KEYS`."""
    sounding = np.zeros((len(beats), 12))
    lowest = np.full(len(beats), 128)
    spelled = np.zeros((len(beats), len(_FIFTHS)))
    ends = [*beats[1:], float(piece.end)]
    for note in piece.notes:
        fifth = fifth_of(note.pitch) - _FIFTHS.start
        for row, share in beats_under(note, beats, ends):
            sounding[row, note.midi % 12] += share
            lowest[row] = min(lowest[row], note.midi)
            spelled[row, fifth] = 1.0
    evidence = _SOUND * (sounding / np.maximum(1.0, sounding.sum(axis=1, keepdims=True))) @ _LOG_SHARES
    struck = lowest < 128
    evidence[struck] += _BASS[lowest[struck] % 12]
    result: Floats = evidence + spelled @ _SPELLING
    return result


def best_path(evidence: Floats, first: Floats) -> tuple[list[int], Floats]:
    """Return the best key of each row (column numbers) and the posterior probability of every key there.

    `first` is the log prior of the first row's key.
    """
    forward = np.empty_like(evidence)
    best = np.empty_like(evidence)
    back = np.zeros(evidence.shape, dtype=np.int64)
    forward[0] = best[0] = first + evidence[0]
    for row in range(1, len(evidence)):
        scores = best[row - 1][:, None] + _CHANGE
        back[row] = scores.argmax(axis=0)
        best[row] = scores.max(axis=0) + evidence[row]
        forward[row] = _log_sum(forward[row - 1]) + evidence[row]
    path = [int(best[-1].argmax())]
    for row in range(len(evidence) - 1, 0, -1):
        path.append(int(back[row][path[-1]]))
    return path[::-1], _posteriors(evidence, forward)


def _posteriors(evidence: Floats, forward: Floats) -> Floats:
    backward = np.zeros_like(evidence)
    for row in range(len(evidence) - 2, -1, -1):
        following = evidence[row + 1] + backward[row + 1]
        peak = following.max()
        backward[row] = peak + np.log(_CHANGE_SHARES @ np.exp(following - peak))
    total = forward + backward
    shares = np.exp(total - total.max(axis=1, keepdims=True))
    normalised: Floats = shares / shares.sum(axis=1, keepdims=True)
    return normalised


def _log_sum(scores: Floats) -> Floats:
    peak = scores.max()
    result: Floats = peak + np.log(np.exp(scores - peak) @ _CHANGE_SHARES)
    return result


def _change_shares() -> Floats:
    weights = np.array([[0.0 if a == b else _FALL_OFF ** _distance(a, b) for b in ALL_KEYS] for a in ALL_KEYS])
    shares: Floats = (1 - _STAY) * weights / weights.sum(axis=1, keepdims=True) + _STAY * np.eye(len(ALL_KEYS))
    return shares


def _distance(a: Key, b: Key) -> float:
    """Return fifths between two signatures on the circle of twelve; another mode adds a little."""
    if a.tonic == b.tonic:
        return _PARALLEL
    fifths = abs((a.signature - b.signature + 6) % 12 - 6)
    return fifths + (_OTHER_MODE if a.mode != b.mode else 0.0)


def _log_shares() -> Floats:
    rows = []
    for key in ALL_KEYS:
        shares = np.array(MAJOR_SHARES if key.mode == "major" else MINOR_SHARES)
        rows.append(np.roll(shares / shares.sum(), key.tonic))
    result: Floats = np.log(np.array(rows)).T
    return result


def _bass_credit() -> Floats:
    credit = np.zeros((12, len(ALL_KEYS)))
    for column, key in enumerate(ALL_KEYS):
        credit[key.tonic, column] = _BASS_TONIC
        credit[(key.tonic + 7) % 12, column] = _BASS_DOMINANT
    return credit


def _spelling() -> Floats:
    """Return what each key (columns) is charged for each spelling (rows) that it does not have."""
    return np.array([[0.0 if _spelled_in(key, fifth) else _MISSPELT for key in ALL_KEYS] for fifth in _FIFTHS])


def _spelled_in(key: Key, fifth: int) -> bool:
    """Say whether a key has the spelling: major from b6 to the raised 2nd, minor from b2 to the raised 4th."""
    low, high = (-4, 9) if key.mode == "major" else (-5, 6)
    return low <= fifth - key.fifth <= high


_FIFTHS = range(-22, 27)  # from F with three flats to B with three sharps
_CHANGE_SHARES = _change_shares()
_CHANGE = np.log(_CHANGE_SHARES)
_LOG_SHARES = _log_shares()
_BASS = _bass_credit()
_SPELLING = _spelling()
