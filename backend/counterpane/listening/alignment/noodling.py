"""Noodling: keys before, between or after the playing that have nothing to do with the passage.

The path has to put every key somewhere. Where a stretch between long pauses fits its place no better than any
keys would, it is set aside; when playing then goes on where it had stopped, nothing was interrupted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from counterpane.listening.alignment.runs import NEXT_ONSETS, Run, Stroke
from counterpane.listening.alignment.waits import LONG_PAUSE, TOGETHER
from counterpane.listening.alignment.written import Written

_SHORT = 3
"""Fewer strikes than this are wrong keys, if anything."""

_NEAR, _NEAR_FITS = (-12, -2, -1, 1, 2, 12), 0.5
"""A hand may be on the next key, or elsewhere: keys so far from right, in semitones, fit by so much."""

_FITS, _FITS_WELL = 0.33, 0.67
"""How well keys fit that play the passage; the second where playing resumes without them, or is over."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Strokes between long pauses: whether they began by a jump, and how many keys went astray just before."""

    strokes: Sequence[Stroke]
    jumped: bool
    astray: int

    @property
    def group(self) -> int:
        """Number of the first onset."""
        return self.strokes[0].group


def without_noodling(
    runs: Sequence[Run], written: Written, keys: Sequence[int], waits: Sequence[int]
) -> list[Run]:
    """Return the runs with the keys astray that play hardly a note of the passage; `waits` are their grades."""
    kept, interrupted, jumped = [Run(astray=runs[0].astray)], False, False
    stretches = [stretch for run in runs for stretch in _between_long_pauses(run, waits)]
    for stretch, following in zip_longest(stretches, stretches[1:]):
        here = kept[-1]
        jumped |= stretch.jumped
        idle = _resumes(here, stretch, following, written) if following else stretch.jumped
        needed = _FITS_WELL if idle else _FITS
        if _is_short(stretch, waits) or _fit(stretch, written, keys) >= needed:
            if here.strokes and jumped and not (interrupted and _goes_on(here, stretch)):
                kept.append(Run())
            kept[-1].strokes += stretch.strokes
            interrupted = jumped = False
        else:
            here.astray += [stroke.event for stroke in stretch.strokes]
            interrupted = True
    return kept


def _between_long_pauses(run: Run, waits: Sequence[int]) -> Iterator[_Stretch]:
    begin = [waits[stroke.event] == LONG_PAUSE for stroke in run.strokes]
    starts = [place for place, begins in enumerate(begin) if begins or not place]
    for start, end in zip_longest(starts, starts[1:]):
        yield _Stretch(run.strokes[start:end], jumped=not start, astray=0 if begin[start] else len(run.astray))


def _resumes(here: Run, stretch: _Stretch, following: _Stretch, written: Written) -> bool:
    """Whether what follows a stretch by a jump begins, or goes on where a run stopped, or comes back there."""
    if not (following.jumped and here.strokes):
        return following.jumped
    place = range(written.begun_from(here.last_group), here.last_group + NEXT_ONSETS + 1)
    return _goes_on(here, following) or (following.group in place and stretch.group not in place)


def _goes_on(here: Run, stretch: _Stretch) -> bool:
    return 0 < stretch.group - here.last_group <= NEXT_ONSETS


def _is_short(stretch: _Stretch, waits: Sequence[int]) -> bool:
    """Whether keys were struck but a few times, alone or together."""
    return stretch.astray + sum(waits[stroke.event] > TOGETHER for stroke in stretch.strokes) < _SHORT


def _fit(stretch: _Stretch, written: Written, keys: Sequence[int]) -> float:
    """Return the share of right keys, those near right counted for less."""
    table = written.by_group_and_key
    places = [(stroke.group, keys[stroke.event]) for stroke in stretch.strokes]
    wrong = [(group, key) for group, key in places if (group, key) not in table]
    near = sum(any((group, key + shift) in table for shift in _NEAR) for group, key in wrong)
    return (len(places) - len(wrong) + _NEAR_FITS * near) / len(places)
