"""The one call: `align(piece, passage, performance)`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from counterpane.errors import PerformanceError
from counterpane.listening.alignment.apart import brought_together, left_behind_ms
from counterpane.listening.alignment.emissions import emissions
from counterpane.listening.alignment.held import usual_shares
from counterpane.listening.alignment.noodling import without_noodling
from counterpane.listening.alignment.pairing import pair_played
from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.path import find_path
from counterpane.listening.alignment.positions import lay_out
from counterpane.listening.alignment.runs import Run, pace_of, split_into_runs
from counterpane.listening.alignment.slips import explain_slips
from counterpane.listening.alignment.struck_keys import StruckKeys, read_struck_keys
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
    struck = read_struck_keys(performance)
    reading = _read(written, struck)
    if reading.fit < 1.0 - _FITS_BETTER:
        others = _other_readings(piece, passage, reading, struck)
        reading = max(
            (reading, *(other for other in others if _is_enough(other, len(struck)))),
            key=lambda other: other.fit - _FITS_BETTER * (other is not reading),
        )
    return _verdict(piece, passage, _with_hands_together(reading, struck), len(struck))


def _verdict(piece: Piece, passage: Passage, reading: _Reading, keys: int) -> Alignment:
    written, runs, pairs = reading.written, reading.runs, reading.pairs
    recognised = _is_recognised(reading, keys)
    if not recognised:
        pairs = tuple(
            found if _is_good(found) else Pairs(written, Run(), StruckKeys((), (), ()), 0.0) for found in pairs
        )
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


def _read(written: Written, struck: StruckKeys, transposed_by: int = 0) -> _Reading:
    sounding = struck.transposed_by(-transposed_by)
    keys, times = sounding.keys, sounding.times_ms
    positions = lay_out(written)
    waits = grade_waits(times)
    moves = find_path(positions, emissions(written, positions, keys), keys, waits)
    pace = pace_of(moves, positions, written, times)
    runs = split_into_runs(moves, positions, written, keys, times, pace)
    runs = without_noodling(runs, written, keys, waits)
    pairs = tuple(Pairs(written, run, sounding, pace) for run in runs)
    _explain(pairs)
    fit = sum(len(found.played) + len(found.ornament) for found in pairs) / len(struck)
    return _Reading(written, tuple(runs), pairs, fit, transposed_by)


def _explain(pairs: Sequence[Pairs]) -> None:
    """Pair the keys of all runs, then explain the slips: the right keys tell how this player holds keys."""
    begun = [found for found in pairs if found.run.strokes]
    for found in begun:
        pair_played(found)
    shares = {} if all(found.are_clean() for found in begun) else usual_shares(begun)
    for found in begun:
        explain_slips(found, shares)
        found.attempted |= found.taken.keys()


def _with_hands_together(reading: _Reading, struck: StruckKeys) -> _Reading:
    """Read once more, where the hands are far apart, as if they were not."""
    if reading.likeness >= _FITS_WELL or abs(left_behind_ms(reading.pairs)) < _FAR_APART_MS:
        return reading
    sounding = struck.transposed_by(-reading.transposed_by)
    together, order = struck.struck_at(
        brought_together(reading.written, reading.pairs, sounding.keys, sounding.times_ms)
    )
    again = _read(reading.written, together, reading.transposed_by)
    if again.likeness <= reading.likeness:
        return reading
    for run, pairs in zip(again.runs, again.pairs, strict=True):
        run.renumber(order)
        pairs.renumber(order, sounding)
    return again


def _other_readings(piece: Piece, passage: Passage, reading: _Reading, struck: StruckKeys) -> Iterator[_Reading]:
    """Yield the other hand as well, where one was asked, and transpositions that suit the keys."""
    written = reading.written
    if passage.hands != "both":
        yield _read(read_written(piece, passage, "both"), struck)
    trial = struck.first(_TRIAL_KEYS)
    candidates = likely_transpositions(written, struck.keys, 0.0 if reading.fit < _FITS else _FITS_BETTER)
    if candidates:
        best = max(candidates, key=lambda shift: _read(written, trial, shift).fit)
        transposed = _read(written, struck, best)
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
