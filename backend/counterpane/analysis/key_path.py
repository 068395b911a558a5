"""The key of every measure, as the most probable path through the piece.

Method: Temperley, *Music and Probability* (2007), chapter 6: in each segment (here: a measure) a key makes each
pitch class present or absent with the shares of Kostka and Payne's examples (the values below, by degree from the
tonic); the key stays from one segment to the next or changes; the best path is found by dynamic programming
(Viterbi 1967). Differences from the source: presence is a matter of degree (a pitch class that sounds for a
beat or more counts as present, a shorter one in part); a change to a near key is likelier than one to a far key;
the spelling counts (a G# speaks for A minor, an Ab does not), and a leading tone that rises to its
tonic speaks for that key beyond its presence, which is what tells relative and parallel keys apart.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np

from counterpane.analysis.key_names import ALL_KEYS, Key, fifth_of
from counterpane.analysis.meter import beat_length
from counterpane.analysis.steps import Floats
from counterpane.model.piece import Note, Piece

MAJOR_SHARES = (0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400)
MINOR_SHARES = (0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330)
_STAY = 0.8
_FALL_OFF = 0.55
_LEADING_TONE = 1.2
_MISSPELT = -1.5


def measure_evidence(piece: Piece) -> Floats:
    """Return log likelihoods: one row a measure, one column a key of `ALL_KEYS`."""
    by_measure: list[list[Note]] = [[] for _ in piece.measures]
    for note in piece.notes:
        by_measure[piece.measure_at(note.onset).index].append(note)
        for later in _measures_held_into(piece, note):
            by_measure[later].append(note)
    rises = _leading_tones(piece)
    rows = [
        _presence(piece, index, notes) + _spelling(notes) + rises[index] for index, notes in enumerate(by_measure)
    ]
    return np.array(rows)


def best_path(evidence: Floats, first: Floats) -> tuple[list[int], Floats]:
    """Return the best key of each measure (column numbers) and the posterior probability of every key there.

    `first` is the log prior of the first measure's key.
    """
    change = _change_costs()
    forward = np.empty_like(evidence)
    best = np.empty_like(evidence)
    back = np.zeros(evidence.shape, dtype=np.int64)
    forward[0] = best[0] = first + evidence[0]
    for row in range(1, len(evidence)):
        scores = best[row - 1][:, None] + change
        back[row] = scores.argmax(axis=0)
        best[row] = scores.max(axis=0) + evidence[row]
        forward[row] = _log_sum(forward[row - 1][:, None] + change) + evidence[row]
    path = [int(best[-1].argmax())]
    for row in range(len(evidence) - 1, 0, -1):
        path.append(int(back[row][path[-1]]))
    return path[::-1], _posteriors(evidence, forward, change)


def _posteriors(evidence: Floats, forward: Floats, change: Floats) -> Floats:
    backward = np.zeros_like(evidence)
    for row in range(len(evidence) - 2, -1, -1):
        backward[row] = _log_sum((change + (evidence[row + 1] + backward[row + 1])[None, :]).T)
    total = forward + backward
    total -= total.max(axis=1, keepdims=True)
    shares = np.exp(total)
    normalised: Floats = shares / shares.sum(axis=1, keepdims=True)
    return normalised


def _log_sum(values: Floats) -> Floats:
    peak = values.max(axis=0)
    result: Floats = peak + np.log(np.exp(values - peak).sum(axis=0))
    return result


def _change_costs() -> Floats:
    weights = np.array([[0.0 if a == b else _FALL_OFF ** _distance(a, b) for b in ALL_KEYS] for a in ALL_KEYS])
    shares = (1 - _STAY) * weights / weights.sum(axis=1, keepdims=True) + _STAY * np.eye(len(ALL_KEYS))
    result: Floats = np.log(shares)
    return result


def _distance(a: Key, b: Key) -> float:
    """Fifths between the signatures (on the circle of twelve), the relative key half a step away."""
    fifths = abs((a.signature - b.signature + 6) % 12 - 6)
    return fifths + (0.5 if a.mode != b.mode else 0.0)


def _measures_held_into(piece: Piece, note: Note) -> range:
    first = piece.measure_at(note.onset).index
    last = first
    while last + 1 < len(piece.measures) and piece.measures[last + 1].onset < note.end:
        last += 1
    return range(first + 1, last + 1)


def _presence(piece: Piece, index: int, notes: list[Note]) -> Floats:
    measure = piece.measures[index]
    beat = float(beat_length(measure))
    sounding = np.zeros(12)
    for note in notes:
        overlap = min(note.end, measure.end) - max(note.onset, measure.onset)
        sounding[note.midi % 12] += float(max(overlap, Fraction(0)))
    share = np.minimum(1.0, sounding / beat)
    # An eighth note in a beat already says half of what a whole beat says.
    present = np.sqrt(share)
    result: Floats = present @ _LOG_PRESENT + (1 - present) @ _LOG_ABSENT if notes else np.zeros(len(ALL_KEYS))
    return result


def _profile_table() -> Floats:
    columns = []
    for key in ALL_KEYS:
        shares = MAJOR_SHARES if key.mode == "major" else MINOR_SHARES
        columns.append([shares[(pitch_class - key.tonic) % 12] for pitch_class in range(12)])
    return np.array(columns).T


_PROFILES = _profile_table()
_LOG_PRESENT: Floats = np.log(_PROFILES)
_LOG_ABSENT: Floats = np.log(1 - _PROFILES)


def _spelling(notes: list[Note]) -> Floats:
    """Charge a key for notes that are spelled as it never spells them: fifths from the tonic out of -5 to 8."""
    fifths = {fifth_of(note.pitch) for note in notes}
    return np.array([_MISSPELT * sum(not _spelled_in(key, fifth) for fifth in fifths) for key in ALL_KEYS])


def _spelled_in(key: Key, fifth: int) -> bool:
    """In major from b6 to raised 2nd, in minor from b2 to raised 7th, 6th and 4th."""
    low, high = (-4, 9) if key.mode == "major" else (-5, 6)
    return low <= fifth - key.fifth <= high


def _leading_tones(piece: Piece) -> Floats:
    """Credit each key for leading tones that rise by a semitone to its tonic, in the measure of the tonic."""
    credit = np.zeros((len(piece.measures), len(ALL_KEYS)))
    for voice in piece.voices:
        notes = piece.voice_notes(voice)
        for leading, tonic in pairwise(notes):
            if tonic.midi - leading.midi == 1 and tonic.pitch.diatonic - leading.pitch.diatonic == 1:
                for column in _KEYS_BY_TONIC[tonic.midi % 12]:
                    raised = ALL_KEYS[column].mode == "minor" or leading.pitch.alter > 0
                    for at in {piece.measure_at(leading.onset).index, piece.measure_at(tonic.onset).index}:
                        credit[at, column] += _LEADING_TONE * (0.5 if raised else 0.25)
    return np.minimum(credit, 2 * _LEADING_TONE)


_KEYS_BY_TONIC = {
    pitch_class: [column for column, key in enumerate(ALL_KEYS) if key.tonic == pitch_class]
    for pitch_class in range(12)
}
