"""The subject, found without being told: the opening idea that best explains the piece.

Every place where a voice enters in the opening is tried with every end from half a measure to four measures. A
candidate is worth the bits that its statements save over a model without a subject, counted without its own first
statement (which has to be spelled out), and a little more where its end falls where a teacher would look
for it: where the second voice enters, on a beat, before a rest or a change of motion. Method: two-part
description length (Rissanen, "Modeling by shortest data description", Automatica 14, 1978). The bonuses are
common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from counterpane.analysis.matching import Figure
from counterpane.analysis.null_model import NullModel, null_model_of
from counterpane.analysis.steps import Line, Lines, lines_of
from counterpane.analysis.subject_candidates import Start, starts_of
from counterpane.analysis.subject_search import Reach, reach_of_prefixes
from counterpane.model.analysis import Subject
from counterpane.model.piece import Piece

_KEPT = 3
# A subject saves at least this many bits, and returns at least twice.
_LEAST_SAVED = 30.0
_LEAST_RETURNS = 2
# What a shortened statement saves speaks for a shorter subject as much as for this one.
_PART = 0.3
_AT_SECOND_ENTRY = 0.3
_ON_BEAT = 0.1
_MOTION_BREAKS = 0.1
_FIRST_VOICE = 0.2


@dataclass(frozen=True)
class Candidate:
    """A start and a length with what they explain; `saved` in bits, `score` with the bonuses."""

    line: int
    note: int
    reach: Reach
    saved: float
    score: float


def find_subjects(piece: Piece) -> tuple[Subject, ...]:
    """Return up to three subjects, the best first; none when nothing returns as a subject does."""
    ranked = ranked_candidates(piece)
    if not ranked:
        return ()
    best = ranked[0].score
    lines = lines_of(piece)
    return tuple(_subject(piece, lines, candidate, best) for candidate in ranked[:_KEPT])


def no_subject_reason(piece: Piece) -> str:
    """Say in one sentence why the piece has no subject; empty when it has one."""
    if find_subjects(piece):
        return ""
    if len(piece.notes) < 8:
        return f"The piece has {len(piece.notes)} notes, too few for an idea to return."
    return "No opening idea returns often enough, alone in a voice, to count as a subject."


def ranked_candidates(piece: Piece) -> list[Candidate]:
    """Return the candidates that explain enough, the best first, one for each start and neighbouring end."""
    lines = lines_of(piece)
    if not lines.lines:
        return []
    null_model = null_model_of(lines.lines)
    found = [
        candidate
        for start in starts_of(piece, lines)
        for candidate in _candidates(piece, lines, null_model, start)
        if _explains(lines, candidate)
    ]
    return sorted(
        found, key=lambda candidate: (-candidate.score, candidate.line, candidate.note, candidate.reach.size)
    )


def _candidates(piece: Piece, lines: Lines, null_model: NullModel, start: Start) -> list[Candidate]:
    line = lines.lines[start.line]
    last = start.note + start.sizes[-1]
    figure = Figure(
        onset=line.onset[start.note : last] - line.onset[start.note],
        step=line.step[start.note : last] - line.step[start.note],
        semitone=line.semitone[start.note : last] - line.semitone[start.note],
        bits=null_model.information(line.step[start.note : last], line.onset[start.note : last]),
        length=int(line.end[last - 1] - line.onset[start.note]),
    )
    own = sum(len(before) for before in lines.lines[: start.line]) + start.note
    candidates = []
    for reach in reach_of_prefixes(figure, start.sizes, lines.joined):
        saved = sum(
            worth * (1.0 if whole else _PART)
            for first, worth, whole in zip(reach.firsts, reach.worths, reach.whole, strict=True)
            if first != own
        )
        score = saved * (1 + _bonus(piece, lines, line, start, reach.size))
        candidates.append(Candidate(start.line, start.note, reach, saved, score))
    return candidates


def _bonus(piece: Piece, lines: Lines, line: Line, start: Start, size: int) -> float:
    begin, end = line.onset[start.note], line.onset[start.note + size - 1]
    beat = lines.ticks(4 * piece.measure_at(line.notes[start.note].onset).length / piece.measures[0].beats / 4)
    entries = [int(other.onset[0]) for other in lines.lines if other is not line and other.onset[0] > begin]
    bonus = 0.0
    if entries and abs(min(entries) - end) <= beat:
        bonus += _AT_SECOND_ENTRY
    if all(begin <= other.onset[0] for other in lines.lines):
        bonus += _FIRST_VOICE
    if piece.place(line.notes[start.note + size - 1].onset).beat.denominator == 1:
        bonus += _ON_BEAT
    if _breaks_after(line, start.note + size - 1):
        bonus += _MOTION_BREAKS
    return bonus


def _breaks_after(line: Line, note: int) -> bool:
    """Say whether the motion changes at `note`: it is longer than those before, or a rest follows."""
    if note + 1 >= len(line):
        return True
    return bool(line.onset[note + 1] > line.end[note] or line.gap[note] > line.gap[note - 1])


def _explains(lines: Lines, candidate: Candidate) -> bool:
    """Say whether the candidate returns often enough, and in another voice where there is one."""
    voices = {lines.line_of_note[first] for first in candidate.reach.firsts}
    return (
        candidate.saved >= _LEAST_SAVED
        and len(candidate.reach.firsts) > _LEAST_RETURNS
        and len(voices) >= min(2, len(lines.lines))
    )


def _subject(piece: Piece, lines: Lines, candidate: Candidate, best: float) -> Subject:
    notes = lines.lines[candidate.line].notes[candidate.note : candidate.note + candidate.reach.size]
    whole = sum(candidate.reach.whole)
    returns = len(candidate.reach.firsts)
    share = np.clip(candidate.score / best, 0, 1) * (1 - 2.0 ** (-candidate.saved / 40))
    return Subject(
        hand=notes[0].hand,
        voice=notes[0].voice,
        start=piece.place(notes[0].onset),
        end=piece.place(notes[-1].onset),
        notes=tuple(note.id for note in notes),
        confidence=round(float(share), 3),
        reason=f"This opening idea returns {returns} times, {whole} of them whole, and explains more of the piece "
        "than any other length of it would.",
    )
