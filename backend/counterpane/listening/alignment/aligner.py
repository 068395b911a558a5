"""The one call: `align(piece, passage, performance)`."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from counterpane.errors import PerformanceError
from counterpane.listening.alignment.pairing import Pairs, pair_played
from counterpane.listening.alignment.path import Path, find_path
from counterpane.listening.alignment.runs import Run, split_into_runs
from counterpane.listening.alignment.slips import explain_slips
from counterpane.listening.alignment.verdict import abandoned_runs, event_results, jumps_between, note_results
from counterpane.listening.alignment.written import Positions, Written, emissions, lay_out, read_written
from counterpane.model.assessment import Alignment, NoteResult
from counterpane.model.performance import Performance
from counterpane.model.piece import Hands, Piece
from counterpane.model.practice import Passage

_TOGETHER_MS = 60.0


def align(piece: Piece, passage: Passage, performance: Performance) -> Alignment:
    """Pair the keys of a performance with the notes of a passage.

    Raises `PerformanceError` when the passage has no notes in these hands.
    """
    written = read_written(piece, passage, passage.hands)
    if not written.notes:
        raise PerformanceError(
            "no notes are written here to listen for; choose other measures or the other hand",
            measure=passage.first_measure,
        )
    if not performance.notes:
        return Alignment(tuple(NoteResult(note.id, "not_reached", None) for note in written.notes), (), ())
    keys = [note.midi for note in performance.notes]
    times = [note.onset_ms for note in performance.notes]
    positions = lay_out(written, _layers(written, passage.hands))
    path = _path(written, positions, keys, times)
    runs = split_into_runs(path.moves, positions, written, times)
    pairs = [_pair(written, run, keys, times) for run in runs]
    return Alignment(
        notes=note_results(written, pairs),
        events=event_results(written, runs, pairs, abandoned_runs(written, runs)),
        jumps=jumps_between(piece, written, runs),
    )


def _layers(written: Written, hands: Hands) -> tuple[Hands, ...]:
    if hands == "both" and 0 < written.right.sum() < len(written.notes):
        return ("both", "right", "left")
    return ("right",) if written.right[0] else ("left",)


def _path(written: Written, positions: Positions, keys: Sequence[int], times: Sequence[float]) -> Path:
    return find_path(positions, emissions(written, positions, keys), keys, _pauses(times))


def _pauses(times: Sequence[float]) -> list[int]:
    """Grade the time before each key: -1 with the one before, 0 in flow, 1 a pause, 2 a long one.

    Ornaments are played in flow or faster, so that a key after a pause is never part of one.
    """
    gaps = [later - earlier for earlier, later in pairwise(times)]
    usual = median([gap for gap in gaps if gap > _TOGETHER_MS] or [_TOGETHER_MS])
    return [0, *(_grade(gap, usual) for gap in gaps)]


def _grade(gap: float, usual: float) -> int:
    if gap <= _TOGETHER_MS:
        return -1
    return (gap > 2.0 * usual) + (gap > 4.0 * usual)


def _pair(written: Written, run: Run, keys: Sequence[int], times: Sequence[float]) -> Pairs:
    if not run.strokes:
        return Pairs(set())
    pairs = pair_played(written, run, keys, times)
    explain_slips(written, run, pairs, keys, times)
    pairs.attempted |= pairs.taken.keys()
    return pairs
