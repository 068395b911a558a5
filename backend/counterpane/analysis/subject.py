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
from counterpane.analysis.subject_evidence import Evidence, evidence_of, shuffled_savings
from counterpane.analysis.subject_search import Reach, reach_of_prefixes
from counterpane.model.analysis import Subject
from counterpane.model.piece import Piece

_KEPT = 3
_FEWEST_NOTES = 8
# A subject is imitated in another voice, and saves this much.
_LEAST_RETURNS = 1
_LEAST_SAVED = 25.0
# ... and so many bits for each note of the piece, the fewer, the more bits another voice enters with.
_LEAST_A_NOTE = ((12.0, 0.03), (1.0, 0.12), (0.0, 0.38))
# ... and this many times what its shuffled intervals save, and a little.
_ABOVE_CHANCE = 2.0
_LEAST_ABOVE_CHANCE = 10.0
_AT_SECOND_ENTRY = 0.3
_ON_BEAT = 0.1
_MOTION_BREAKS = 0.1
_FIRST_VOICE = 0.2
_EDGE_VARIES = -0.3  # the first or the last note is another one in most statements
_AN_ENTRY = 0.3
_NOT_THE_FIRST = 0.6


@dataclass(frozen=True)
class Candidate:
    """A start and a length with what they explain; `score` is the bits saved with the bonuses."""

    line: int
    note: int
    reach: Reach
    evidence: Evidence
    score: float


def find_subjects(piece: Piece) -> tuple[Subject, ...]:
    """Return up to three subjects, the best first; none when nothing returns as a subject does."""
    lines = lines_of(piece)
    ranked = ranked_candidates(piece, lines)
    if not ranked or not is_subject(lines, ranked[0]):
        return ()
    return tuple(_subject(piece, lines, candidate, ranked[0].score) for candidate in ranked[:_KEPT])


def no_subject_reason(piece: Piece) -> str:
    """Say in one sentence why the piece has no subject; empty when it has one."""
    if find_subjects(piece):
        return ""
    if len(piece.voices) < 2:
        return "A subject is taken up by another voice, and the piece has only one."
    if len(piece.notes) < _FEWEST_NOTES:
        return f"The piece has {len(piece.notes)} notes, too few for an idea to return."
    return "No opening idea is taken up by another voice often enough, and closely enough, to count as a subject."


def ranked_candidates(piece: Piece, lines: Lines) -> list[Candidate]:
    """Return the candidates that are imitated at all, the best first."""
    if len(lines.lines) < 2:
        return []
    null_model = null_model_of(lines)
    found = [
        candidate
        for start in starts_of(piece, lines)
        for candidate in _candidates(piece, lines, null_model, start)
        if candidate.evidence.returns >= _LEAST_RETURNS and candidate.evidence.in_other_voices
    ]
    return sorted(
        found, key=lambda candidate: (-candidate.score, candidate.line, candidate.note, candidate.reach.size)
    )


def is_subject(lines: Lines, candidate: Candidate) -> bool:
    """Say whether the candidate explains more than chance, judged by the habits of the rest of the piece."""
    stated = np.zeros(len(lines.joined), dtype=np.bool_)
    for first, last in zip(candidate.reach.firsts, candidate.reach.lasts, strict=True):
        stated[first : last + 1] = True
    null_model = null_model_of(lines, stated)
    own = _own(lines, candidate.line, candidate.note)
    size = candidate.reach.size
    figure = _figure(lines, null_model, candidate.line, candidate.note, size)
    [reach] = reach_of_prefixes(figure, (size,), lines)
    evidence = evidence_of(lines, reach, own)
    a_note = next(bits for entry, bits in _LEAST_A_NOTE if evidence.entry >= entry)
    if evidence.saved < max(_LEAST_SAVED, a_note * len(lines.joined)):
        return False
    chance = shuffled_savings(lines, null_model, figure, own, stated)
    return evidence.saved >= _ABOVE_CHANCE * chance + _LEAST_ABOVE_CHANCE


def _candidates(piece: Piece, lines: Lines, null_model: NullModel, start: Start) -> list[Candidate]:
    line = lines.lines[start.line]
    figure = _figure(lines, null_model, start.line, start.note, start.sizes[-1])
    own = _own(lines, start.line, start.note)
    candidates = []
    for reach in reach_of_prefixes(figure, start.sizes, lines):
        evidence = evidence_of(lines, reach, own)
        score = evidence.saved * (1 + _bonus(piece, lines, line, start, reach))
        if not evidence.opens or evidence.begun_before:
            score *= _NOT_THE_FIRST
        candidates.append(Candidate(start.line, start.note, reach, evidence, score))
    return candidates


def _figure(lines: Lines, null_model: NullModel, index: int, first: int, size: int) -> Figure:
    line = lines.lines[index]
    stop = first + size
    return Figure(
        onset=line.onset[first:stop] - line.onset[first],
        step=line.step[first:stop] - line.step[first],
        semitone=line.semitone[first:stop] - line.semitone[first],
        bits=null_model.information(line.step[first:stop], line.onset[first:stop]),
        length=int(line.end[stop - 1] - line.onset[first]),
        phase=int(lines.phase(line.onset[first : first + 1])[0]),
    )


def _own(lines: Lines, index: int, first: int) -> int:
    """Return the index in the joined line of a line's note."""
    return sum(len(before) for before in lines.lines[:index]) + first


def _bonus(piece: Piece, lines: Lines, line: Line, start: Start, reach: Reach) -> float:
    size = reach.size
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
    if start.note == 0 or line.onset[start.note] > line.end[start.note - 1]:
        bonus += _AN_ENTRY
    bonus += _EDGE_VARIES * ((reach.first_met < 0.5) + (reach.last_met < 0.5))
    return bonus


def _breaks_after(line: Line, note: int) -> bool:
    """Say whether the motion changes at `note`: it is longer than those before, or a rest follows."""
    if note + 1 >= len(line):
        return True
    return bool(line.onset[note + 1] > line.end[note] or line.gap[note] > line.gap[note - 1])


def _subject(piece: Piece, lines: Lines, candidate: Candidate, best: float) -> Subject:
    notes = lines.lines[candidate.line].notes[candidate.note : candidate.note + candidate.reach.size]
    whole = sum(candidate.reach.whole)
    returns = len(candidate.reach.firsts)
    share = np.clip(candidate.score / best, 0, 1) * (1 - 2.0 ** (-candidate.evidence.saved / 40))
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
