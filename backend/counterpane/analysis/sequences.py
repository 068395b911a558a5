"""Sequences: a model and its copies at a constant step, in one or both hands.

Conventions: the count includes the model; the step is in scale degrees, rising is positive (-2: each copy a
third lower); a sequence is real when every interval keeps its size in semitones. Periods from one beat to two
measures are tried in every line, readings that several lines share are joined, and of readings that
claim the same notes the one that explains most of them stays: the shortest period at which everything repeats.
Two copies ask for more evidence than three: a whole measure (or half of one in several lines), nearly every note
alike, a step no wider than a third (in several lines a fourth), so that an answer is not called a sequence.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby, pairwise

import numpy as np

from counterpane.analysis.meter import beat_length, full_length
from counterpane.analysis.sequence_figures import is_melodic
from counterpane.analysis.sequence_readings import Pulse, Reading, Track, read_runs, track_of
from counterpane.analysis.sequence_runs import Run, find_runs, partners
from counterpane.analysis.steps import Lines, lines_of
from counterpane.analysis.timeline import Timeline
from counterpane.model.analysis import Sequence, Statement
from counterpane.model.piece import HANDS, Hand, Note, Piece

_LEAST_NOTES = 3
_SHARED = 0.35
_LEAST_BITS = 4.5


def find_sequences(
    piece: Piece, statements: tuple[Statement, ...] = (), *, lines: Lines | None = None
) -> tuple[Sequence, ...]:
    """Return the sequences of `piece` in time order; `statements` tell which copies state the subject.

    `lines` saves making them when they are at hand.
    """
    lines = lines or lines_of(piece)
    tracks = [track_of(line) for line in lines.lines]
    readings = [
        reading for period in _periods(piece, lines) for reading in _readings(piece, lines, tracks, period)
    ]
    stated = _by_voice(lines, statements)
    readings = [reading for reading in readings if not _within_statement(lines, stated, reading)]
    chosen = sorted(_choose(tracks, readings), key=lambda reading: (reading.start, -reading.end))
    stating = _by_note(statements)
    return tuple(
        _sequence(piece, lines, tracks, stating, reading, f"q{number}") for number, reading in enumerate(chosen, 1)
    )


def _periods(piece: Piece, lines: Lines) -> list[int]:
    """Return the periods to try, in ticks: every number of beats up to two measures, and a measure and a half."""
    periods: set[Fraction] = set()
    for meter in {(m.beats, m.beat_unit): m for m in piece.measures}.values():
        measure = full_length(meter)
        beat = beat_length(meter)
        # In alla breve the quarter note still moves as a beat does.
        unit = beat / 2 if beat == 2 else beat
        periods.update(unit * times for times in range(1, int(2 * measure / unit) + 1))
        periods.add(measure * 3 / 2)
    return sorted(lines.ticks(period) for period in periods)


def _readings(piece: Piece, lines: Lines, tracks: list[Track], period: int) -> Iterator[Reading]:
    runs = [
        run
        for number, line in enumerate(lines.lines)
        if len(line) > _LEAST_NOTES
        for run in find_runs(number, line, period)
        if 4 * (run.end - run.start - period) >= 3 * period
    ]
    pulse = Pulse(lines.measure_onset.tolist(), [lines.ticks(beat_length(one)) for one in piece.measures])
    for group in _groups(runs, period):
        leading = [run for run in group if is_melodic(lines.lines[run.line], run)]
        if leading:
            following = [run for run in group if run not in leading]
            reading = read_runs(tracks, leading, following, pulse)
            if reading is not None and _convinces(piece, lines, reading):
                yield reading


def _groups(runs: list[Run], period: int) -> Iterator[tuple[Run, ...]]:
    """Yield every run alone, and together those of different lines that start and end about together."""
    by_step = sorted(runs, key=lambda run: (run.step, run.start, run.line))
    for _, same_step in groupby(by_step, key=lambda run: run.step):
        open_runs: list[Run] = []
        for run in same_step:
            yield (run,)
            open_runs = [other for other in open_runs if run.start - other.start <= period // 2]
            partners = {o.line: o for o in open_runs if o.line != run.line and abs(o.end - run.end) <= period}
            if partners:
                yield (*partners.values(), run)
            open_runs.append(run)


def _convinces(piece: Piece, lines: Lines, reading: Reading) -> bool:
    if reading.model_notes < _LEAST_NOTES or reading.bits < _LEAST_BITS:
        return False
    if reading.count > 2:
        return True
    measure = lines.ticks(full_length(piece.measure_at(Fraction(reading.start, lines.ticks_per_quarter))))
    several = len(reading.runs) > 1
    long_enough = reading.period >= measure or (several and 2 * reading.period >= measure)
    enough_notes = reading.model_notes >= (6 if several or reading.period > measure else 8)
    near = abs(reading.step) <= (3 if several else 2)
    return long_enough and enough_notes and near and 10 * reading.matched >= 9 * reading.model_notes


def _by_voice(lines: Lines, statements: tuple[Statement, ...]) -> dict[int, Timeline[Statement]]:
    """Return the statements of each voice, timed in ticks."""
    timed = [(lines.ticks(s.start.offset), lines.ticks(s.end.offset), s) for s in statements]
    return {line.voice: Timeline(one for one in timed if one[2].voice == line.voice) for line in lines.lines}


def _by_note(statements: tuple[Statement, ...]) -> dict[str, list[Statement]]:
    """Return the statements that each note belongs to, by its id."""
    stating: dict[str, list[Statement]] = defaultdict(list)
    for statement in statements:
        for note in statement.notes:
            stating[note].append(statement)
    return stating


def _within_statement(lines: Lines, stated: dict[int, Timeline[Statement]], reading: Reading) -> bool:
    """Say whether a reading of one line, beat by beat, is only a turn within the subject itself."""
    if len(reading.runs) > 1 or reading.period > lines.ticks_per_quarter:
        return False
    voice = lines.lines[reading.runs[0].line].voice
    return bool(stated[voice].touching(reading.end - reading.period, reading.start))


def _choose(tracks: list[Track], readings: list[Reading]) -> list[Reading]:
    """Keep the readings that explain most; drop those that mostly claim notes already explained."""
    claimed = [bytearray(len(track.onsets)) for track in tracks]
    kept: list[Reading] = []
    alike: dict[tuple[int, int], list[Reading]] = defaultdict(list)
    for reading in sorted(readings, key=lambda r: (-r.rank, r.period, r.start)):
        ranges = [(run.line, *tracks[run.line].window(reading.start, reading.end)) for run in reading.runs]
        total = sum(last - first for _, first, last in ranges)
        taken = sum(sum(claimed[line][first:last]) for line, first, last in ranges)
        stronger = alike[reading.period, reading.step]
        if taken <= _SHARED * total and not any(_goes_with(reading, other) for other in stronger):
            kept.append(reading)
            stronger.append(reading)
            for line, first, last in ranges:
                claimed[line][first:last] = b"\x01" * (last - first)
    return kept


def _goes_with(reading: Reading, other: Reading) -> bool:
    """Say whether a reading only accompanies a stronger one of the same period and step: within its time."""
    margin = reading.period // 2
    return other.start - margin <= reading.start and reading.end <= other.end + margin


def _sequence(
    piece: Piece,
    lines: Lines,
    tracks: list[Track],
    stating: dict[str, list[Statement]],
    reading: Reading,
    name: str,
) -> Sequence:
    starts = [reading.start + copy * reading.period for copy in range(reading.count + 1)]
    copies = tuple(_notes(lines, tracks, reading, *span) for span in pairwise(starts))
    notes = tuple(note.id for copy in copies for note in copy)
    onsets = [note.onset for copy in copies for note in copy]
    hands = tuple(hand for hand in HANDS if any(note.hand == hand for copy in copies for note in copy))
    return Sequence(
        id=name,
        hands=hands,
        start=piece.place(min(onsets)),
        end=piece.place(max(onsets)),
        count=reading.count,
        direction="rising" if reading.step > 0 else "falling",
        step=reading.step,
        notes=notes,
        copies=tuple(tuple(note.id for note in copy) for copy in copies),
        statements=_stated(stating, frozenset(notes)),
        real=_is_real(lines, tracks, reading),
        confidence=_confidence(reading),
        reason=_reason(lines, reading, hands),
    )


def _notes(lines: Lines, tracks: list[Track], reading: Reading, start: int, end: int) -> list[Note]:
    spans = [(run.line, slice(*tracks[run.line].window(start, end))) for run in reading.runs]
    return [note for line, span in spans for note in lines.lines[line].notes[span]]


def _stated(stating: dict[str, list[Statement]], notes: frozenset[str]) -> tuple[str, ...]:
    """Return the ids of the statements that mostly consist of the notes of a sequence, in time order."""
    touched = {statement.id: statement for note in notes for statement in stating.get(note, ())}
    mostly = [s for s in touched.values() if 2 * sum(note in notes for note in s.notes) > len(s.notes)]
    return tuple(s.id for s in sorted(mostly, key=lambda s: (s.start.offset, s.voice)))


def _is_real(lines: Lines, tracks: list[Track], reading: Reading) -> bool:
    """Say whether every note that follows the model does so by the same number of semitones."""
    shifts = set()
    for run in reading.runs:
        line = lines.lines[run.line]
        first, last = tracks[run.line].window(reading.start, reading.end - reading.period)
        partner, step = partners(line, line, reading.period)
        follows = np.flatnonzero(step[first:last] == reading.step) + first
        shifts |= set((line.semitone[partner[follows]] - line.semitone[follows]).tolist())
    return len(shifts) == 1


def _confidence(reading: Reading) -> float:
    """Map the bits saved to 0.5 to 0.99: a reading of 12 bits is a fair guess, one of 100 bits is certain."""
    agreement = reading.matched / max(1, reading.matched + reading.missed)
    return round(min(0.99, (0.5 + min(1.0, max(0.0, reading.bits) / 90) / 2) * (0.6 + 0.4 * agreement)), 2)


_INTERVALS = {1: "second", 2: "third", 3: "fourth", 4: "fifth", 5: "sixth"}


def _reason(lines: Lines, reading: Reading, hands: tuple[Hand, ...]) -> str:
    way = "higher" if reading.step > 0 else "lower"
    where = "both hands" if len(hands) > 1 else f"the {hands[0]} hand"
    length = Fraction(reading.period, lines.ticks_per_quarter)
    quarters = "one quarter note" if length == 1 else f"{float(length):g} quarter notes"
    share = f"{reading.matched} of {reading.matched + reading.missed} notes agree"
    return (
        f"In {where} a figure of {quarters} is heard {reading.count} times, each time a "
        f"{_INTERVALS[abs(reading.step)]} {way} ({share})."
    )
