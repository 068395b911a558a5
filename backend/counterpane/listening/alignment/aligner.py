"""The one call: `align(piece, passage, performance)`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from counterpane.errors import PerformanceError
from counterpane.listening.alignment.apart import brought_together, left_behind_ms
from counterpane.listening.alignment.emissions import emissions
from counterpane.listening.alignment.noodling import without_noodling
from counterpane.listening.alignment.pairing import pair_played
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.path import find_path
from counterpane.listening.alignment.positions import lay_out
from counterpane.listening.alignment.runs import Run, pace_of, split_into_runs
from counterpane.listening.alignment.slips import explain_slips
from counterpane.listening.alignment.transposition import likely_transpositions
from counterpane.listening.alignment.verdict import (
    abandoned_events,
    event_results,
    hands_heard,
    jumps_between,
    note_results,
)
from counterpane.listening.alignment.waits import grade_waits
from counterpane.listening.alignment.written import Written, read_written
from counterpane.model.assessment import Alignment, NoteResult
from counterpane.model.performance import Performance
from counterpane.model.piece import Piece
from counterpane.model.practice import Passage

_FITS = 0.7
"""With a smaller share of keys as written, any transposition that may be meant is tried."""

_FITS_WELL, _FAR_APART_MS = 0.99, 80.0
"""With a smaller share, and hands further apart than this, they are brought together."""

_TRANSPOSED_FITS = 0.6
"""A transposed instrument fits at least so well, however many slips there were."""

_FITS_BETTER = 0.15
"""By so much more must another reading fit: both hands where one was asked, a transposed instrument."""

_RECOGNISED = 0.5
"""With a smaller share the performance is taken for something else, of which only long good runs are kept."""

_OCTAVE = 12
_GOOD_RUN_KEYS = 12
_GOOD_RUN_SHARE = 0.7
_FEWEST_KEYS, _FEWEST_AGREEING = 8, 5
_TRIAL_KEYS = 240


@dataclass(frozen=True)
class _Reading:
    """A performance read as a passage in some hands at some transposition."""

    written: Written
    runs: tuple[Run, ...]
    pairs: tuple[Pairs, ...]
    fit: float
    """Share of the keys that played a written note."""

    transposed_by: int = 0

    @property
    def likeness(self) -> float:
        """The same share, with notes played in another octave: a hand may have misread where it lies."""
        elsewhere = sum(
            (found.keys[event] - self.written.key_of[note]) % _OCTAVE == 0
            for found in self.pairs
            for event, note in found.replaced.items()
        )
        return self.fit + elsewhere / sum(len(run.strokes) + len(run.astray) for run in self.runs)


def align(piece: Piece, passage: Passage, performance: Performance) -> Alignment:
    """Pair the keys of a performance with the notes of a passage.

    Raises `PerformanceError` when the passage has no notes in these hands.
    """
    written = read_written(piece, passage, passage.hands)
    if not written.asked.any():
        raise PerformanceError(
            "no notes are written here to listen for; choose other measures or the other hand",
            measure=passage.first_measure,
        )
    if not performance.notes:
        asked = np.flatnonzero(written.asked).tolist()
        untouched = tuple(NoteResult(written.notes[index].id, "not_reached", None) for index in asked)
        return Alignment(untouched, (), (), hands=passage.hands, warnings=("No key was struck.",))
    keys = [note.midi for note in performance.notes]
    times = [note.onset_ms for note in performance.notes]
    reading = _read(written, keys, times)
    if reading.fit < 1.0 - _FITS_BETTER:
        others = _other_readings(piece, passage, reading, keys, times)
        reading = max(
            (reading, *(other for other in others if _is_enough(other, len(keys)))),
            key=lambda other: other.fit - _FITS_BETTER * (other is not reading),
        )
    return _verdict(piece, passage, _with_hands_together(reading, keys, times), len(keys))


def _verdict(piece: Piece, passage: Passage, reading: _Reading, keys: int) -> Alignment:
    written, runs, pairs = reading.written, reading.runs, reading.pairs
    recognised = _is_recognised(reading, keys)
    if not recognised:
        pairs = tuple(found if _is_good(found) else Pairs(written, Run(), (), (), 0.0) for found in pairs)
    return Alignment(
        notes=note_results(written, pairs),
        events=event_results(written, runs, pairs, abandoned_events(written, runs)),
        jumps=jumps_between(piece, written, runs) if recognised else (),
        transposed_by=reading.transposed_by,
        hands=hands_heard(written, pairs, passage.hands),
        warnings=tuple(_warnings(reading, keys)),
    )


def _is_enough(reading: _Reading, keys: int) -> bool:
    """Whether keys are enough to say that something else was played than asked; of few, all must agree."""
    return keys >= _FEWEST_KEYS or (keys >= _FEWEST_AGREEING and reading.fit == 1.0 and len(reading.runs) == 1)


def _is_recognised(reading: _Reading, keys: int) -> bool:
    return reading.likeness >= _RECOGNISED or keys < _FEWEST_KEYS


def _is_good(found: Pairs) -> bool:
    run = found.run
    return len(found.played) >= max(_GOOD_RUN_KEYS, _GOOD_RUN_SHARE * (len(run.strokes) + len(run.astray)))


def _read(written: Written, keys: Sequence[int], times: Sequence[float], transposed_by: int = 0) -> _Reading:
    sounding = [key - transposed_by for key in keys]
    positions = lay_out(written)
    waits = grade_waits(times)
    moves = find_path(positions, emissions(written, positions, sounding), sounding, waits)
    pace = pace_of(moves, positions, written, times)
    runs = split_into_runs(moves, positions, written, sounding, times, pace)
    runs = without_noodling(runs, written, sounding, waits)
    pairs = tuple(_pair(Pairs(written, run, sounding, times, pace)) for run in runs)
    fit = sum(len(found.played) + len(found.ornament) for found in pairs) / len(keys)
    return _Reading(written, tuple(runs), pairs, fit, transposed_by)


def _with_hands_together(reading: _Reading, keys: Sequence[int], times: Sequence[float]) -> _Reading:
    """Read once more, where the hands are far apart, as if they were not."""
    if reading.likeness >= _FITS_WELL or abs(left_behind_ms(reading.pairs)) < _FAR_APART_MS:
        return reading
    sounding = [key - reading.transposed_by for key in keys]
    together = brought_together(reading.written, reading.pairs, sounding, times)
    order = sorted(range(len(keys)), key=together.__getitem__)
    again = _read(
        reading.written,
        [keys[event] for event in order],
        [together[event] for event in order],
        reading.transposed_by,
    )
    if again.likeness <= reading.likeness:
        return reading
    for run, pairs in zip(again.runs, again.pairs, strict=True):
        run.renumber(order)
        pairs.renumber(order, sounding, times)
    return again


def _pair(pairs: Pairs) -> Pairs:
    if pairs.run.strokes:
        pair_played(pairs)
        explain_slips(pairs)
        pairs.attempted |= pairs.taken.keys()
    return pairs


def _other_readings(
    piece: Piece, passage: Passage, reading: _Reading, keys: Sequence[int], times: Sequence[float]
) -> Iterator[_Reading]:
    """Yield the other hand as well, where one was asked, and transpositions that suit the keys."""
    written = reading.written
    if passage.hands != "both":
        yield _read(read_written(piece, passage, "both"), keys, times)
    trial = slice(0, _TRIAL_KEYS)
    candidates = likely_transpositions(written, keys, 0.0 if reading.fit < _FITS else _FITS_BETTER)
    if candidates:
        best = max(candidates, key=lambda shift: _read(written, keys[trial], times[trial], shift).fit)
        transposed = _read(written, keys, times, best)
        one_hand_may_be_elsewhere = best % _OCTAVE == 0
        if transposed.fit >= (_FITS if one_hand_may_be_elsewhere else _TRANSPOSED_FITS):
            yield transposed


def _warnings(reading: _Reading, keys: int) -> Iterator[str]:
    if reading.transposed_by:
        size, direction = abs(reading.transposed_by), "above" if reading.transposed_by > 0 else "below"
        plural = "semitone" if size == 1 else "semitones"
        yield f"Everything sounds {size} {plural} {direction} what is written; look for a transpose setting."
    if not _is_recognised(reading, keys):
        fitting = round(reading.fit * keys)
        yield f"Only {fitting} of {keys} keys fit this passage: this seems to be something else."
