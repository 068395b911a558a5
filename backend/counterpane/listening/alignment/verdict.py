"""From pairs to the model's words: statuses of notes and events, jumps, abandoned starts."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from counterpane.listening.alignment.pairs import Pairs
from counterpane.listening.alignment.runs import Run, Stroke
from counterpane.listening.alignment.written import Written
from counterpane.model.assessment import EventResult, EventStatus, Jump, JumpKind, NoteResult, NoteStatus
from counterpane.model.piece import Hands, Piece

_STRAY = 0.03
"""A smaller share of the played notes does not make a hand."""


def jumps_between(piece: Piece, written: Written, runs: Sequence[Run]) -> tuple[Jump, ...]:
    """Return the jumps from each run to the next."""
    return tuple(_jump(piece, written, runs, number) for number in range(1, len(runs)) if runs[number].strokes)


def _jump(piece: Piece, written: Written, runs: Sequence[Run], number: int) -> Jump:
    before, after = runs[number - 1], runs[number]
    left, target = _note_at(written, before.last_group), _note_at(written, after.first_group)
    return Jump(
        event=after.strokes[0].event,
        from_note=written.notes[left].id,
        to_note=written.notes[target].id,
        from_place=piece.place(written.notes[left].onset),
        to_place=piece.place(written.notes[target].onset),
        kind=_jump_kind(written, before, after),
    )


def _note_at(written: Written, group: int) -> int:
    return int(written.groups.searchsorted(group))


def _jump_kind(written: Written, before: Run, after: Run) -> JumpKind:
    """Name a jump; a restart goes back to the start of the passage or of what it abandons."""
    if after.first_group > before.last_group:
        return "skip"
    passage_start = int(written.groups[written.asked.argmax()])
    begins_again = after.first_group in (passage_start, before.first_group)
    return "restart" if begins_again or _abandoned_strokes(written, before, after) else "back"


def _abandoned_strokes(written: Written, before: Run, after: Run) -> Sequence[Stroke]:
    """Return the strokes of a run that were an abandoned start, when the next run begins.

    An abandoned start breaks off inside a measure and is begun again from where it began: the run as a whole, or
    the measure (or a part of it) in which the player was. What reaches a barline, or the end of the passage,
    before it begins again was played through.
    """
    target, last = after.first_group, before.last_group
    if not before.strokes or target > last or _reaches_barline(written, target, last):
        return ()
    onsets = written.group_onsets
    in_measure = not _barline_between(written, float(onsets[target]), float(onsets[last]))
    if target != before.first_group and not in_measure:
        return ()
    first = next((place for place, stroke in enumerate(before.strokes) if stroke.group >= target), 0)
    return before.strokes[first:]


def _reaches_barline(written: Written, start: int, last: int) -> bool:
    """Whether a stretch ends with the last onset of a measure, or is whole measures and the next downbeat."""
    if last + 1 == len(written.group_onsets):
        return True
    onset, following = written.group_onsets[last : last + 2].tolist()
    downbeats = bool(written.on_barline[start] and written.on_barline[last]) and last > start
    return downbeats or _barline_between(written, onset, following)


def _barline_between(written: Written, onset: float, following: float) -> bool:
    """Whether a measure begins after one onset and not after another."""
    starts = written.measure_starts
    return bisect_right(starts, onset) < bisect_right(starts, following)


def abandoned_events(written: Written, runs: Sequence[Run]) -> set[int]:
    """Return the events that were part of an abandoned start."""
    return {
        stroke.event
        for before, after in pairwise(runs)
        if after.strokes
        for stroke in _abandoned_strokes(written, before, after)
    }


def event_results(
    written: Written, runs: Sequence[Run], pairs: Sequence[Pairs], abandoned: set[int]
) -> tuple[EventResult, ...]:
    """Return what each key was, in order of events."""
    results = []
    for number, (run, found) in enumerate(zip(runs, pairs, strict=True)):
        for event in [*(stroke.event for stroke in run.strokes), *run.astray]:
            status, note = _event_status(found, event)
            if event in abandoned and status == "as_written":
                status = "abandoned"
            results.append(EventResult(event, status, None if note is None else written.notes[note].id, number))
    return tuple(sorted(results, key=lambda result: result.event))


def _event_status(found: Pairs, event: int) -> tuple[EventStatus, int | None]:
    if event in found.played:
        return "as_written", found.played[event]
    if event in found.ornament:
        return "as_written", found.ornament[event]
    if event in found.restruck:
        return "abandoned", found.restruck[event]
    if event in found.replaced:
        return "replacement", found.replaced[event]
    return "added", None


def note_results(written: Written, pairs: Sequence[Pairs]) -> tuple[NoteResult, ...]:
    """Return what became of each note; where passes differ, played is better than replaced than left out."""
    played: dict[int, int] = {}
    replaced: dict[int, int] = {}
    attempted: set[int] = set()
    for found in pairs:
        played.update({note: event for event, note in found.ornament.items() if note not in found.played.values()})
        played.update({note: event for event, note in found.played.items()})
        replaced.update({note: event for event, note in found.replaced.items()})
        attempted |= found.attempted
    results = []
    for index in np.flatnonzero(written.asked).tolist():
        note = written.notes[index]
        source = written.twins.get(index, index)
        known = index if index in played else source
        results.append(NoteResult(note.id, *_note_status(known, played, replaced, attempted)))
    return tuple(results)


def _note_status(
    note: int, played: dict[int, int], replaced: dict[int, int], attempted: set[int]
) -> tuple[NoteStatus, int | None]:
    if note in played:
        return "played", played[note]
    if note in replaced:
        return "replaced", replaced[note]
    return ("left_out" if note in attempted else "not_reached"), None


def hands_heard(written: Written, pairs: Sequence[Pairs], asked: Hands) -> Hands:
    """Return the hand to which nearly all played notes belong, or both; `asked` when nothing was played."""
    hands = [written.notes[note].hand for found in pairs for note in found.played.values()]
    if not hands:
        return asked
    right = hands.count("right") / len(hands)
    return "right" if right > 1.0 - _STRAY else "left" if right < _STRAY else "both"
