"""Candidates for the subject, ranked: the bits that their imitations save, and where a teacher would put the ends.

A candidate is worth what its statements save over a model without a subject, counted without its own first
statement, which has to be spelled out, and with a part only of what the legs of a sequence save. It is worth more
where its end falls where the second voice enters, on a beat, before a rest or a longer note; less where its first
or last note is another one in most statements. These preferences are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from counterpane.analysis.matching import figure_of
from counterpane.analysis.null_model import NullModel, null_model_of
from counterpane.analysis.steps import Flags, Line, Lines
from counterpane.analysis.subject_candidates import Start, on_beat, starts_of
from counterpane.analysis.subject_evidence import Evidence, evidence_of
from counterpane.analysis.subject_search import Reach, reach_of_prefixes
from counterpane.model.piece import Piece

# Shares by which a candidate's worth grows or shrinks.
_FIRST_VOICE = 0.2
_AN_ENTRY = 0.3
_AT_SECOND_ENTRY = 0.3
_ON_BEAT = 0.1
_MOTION_BREAKS = 0.1
_EDGE_VARIES = -0.3
_NOT_THE_BEGINNING = 0.6
# What stands before the answer in a canon is an idea of its own where it saves as much as a subject must, and
# this share of what the canon does.
_SHARE_OF_CANON = 0.4
# The imitations of a subject save this many bits.
LEAST_SAVED = 25.0


@dataclass(frozen=True)
class Candidate:
    """A start and a length with what they explain; `score` is the bits saved with the preferences."""

    line: int
    note: int
    reach: Reach
    evidence: Evidence
    score: float

    @property
    def size(self) -> int:
        """Number of notes."""
        return self.reach.size

    def is_part_of(self, other: Candidate) -> bool:
        """Say whether all its notes are among those of the other candidate."""
        within = other.note <= self.note and self.note + self.size <= other.note + other.size
        return self.line == other.line and within


def ranked_candidates(piece: Piece, lines: Lines) -> list[Candidate]:
    """Return the candidates that another voice imitates, the best first."""
    if len(lines.lines) < 2:
        return []
    null_model = null_model_of(lines)
    found = [
        candidate
        for start in starts_of(piece, lines)
        for candidate in _candidates(lines, null_model, start)
        if candidate.evidence.in_other_voices
    ]
    return sorted(found, key=lambda candidate: (-candidate.score, candidate.line, candidate.note, candidate.size))


def in_joined(lines: Lines, index: int, first: int) -> int:
    """Return the index in the joined line of a line's note."""
    return sum(len(before) for before in lines.lines[:index]) + first


def _candidates(lines: Lines, null_model: NullModel, start: Start) -> list[Candidate]:
    figure = figure_of(lines.lines[start.line].part(start.note, start.sizes[-1]), lines, null_model)
    own = in_joined(lines, start.line, start.note)
    beginning = _preference_for_start(lines, start)
    beats = on_beat(lines, lines.lines[start.line])
    candidates = []
    answered = 0.0  # the most saved by a candidate that ends where the answer enters
    for reach in reach_of_prefixes(figure, start.sizes, lines):
        evidence = evidence_of(lines, reach, own)
        saved, end = evidence.leading, _preference_for_end(lines, start, reach, evidence, beats)
        if not _goes_on_in_canon(lines, start, reach, evidence.canon):
            answered = max(answered, evidence.saved)
        elif answered >= max(LEAST_SAVED, _SHARE_OF_CANON * evidence.saved):
            saved, end = min(saved, answered), min(end, 0.0)
        score = saved * (1 + beginning + end)
        if not evidence.opens or evidence.begun_before:
            score *= _NOT_THE_BEGINNING
        candidates.append(Candidate(start.line, start.note, reach, evidence, score))
    return candidates


def _preference_for_start(lines: Lines, start: Start) -> float:
    line = lines.lines[start.line]
    begin = line.onset[start.note]
    first_voice = all(begin <= other.onset[0] for other in lines.lines)
    an_entry = start.note == 0 or begin > line.end[start.note - 1]
    return _FIRST_VOICE * first_voice + _AN_ENTRY * bool(an_entry)


def _goes_on_in_canon(lines: Lines, start: Start, reach: Reach, canon: int) -> bool:
    """Say whether a candidate lasts beyond the entry of a voice that follows every statement at one distance.

    How long a canon goes on tells nothing of where its subject ends, once what is answered is an idea of its own;
    but a phrase may come to its end, before a rest, while the answer's first beat sounds.
    """
    line = lines.lines[start.line]
    last = start.note + reach.size - 1
    late = line.onset[last] - line.onset[start.note] - canon
    ends = late <= lines.measure_beat[0] and _rests_after(line, last)
    return bool(canon and late > 0 and not ends)


def _preference_for_end(lines: Lines, start: Start, reach: Reach, evidence: Evidence, beats: Flags) -> float:
    """Return what speaks for the end of a candidate; `beats` are the notes of its line that begin on a beat."""
    line = lines.lines[start.line]
    last = start.note + reach.size - 1
    begin, end = line.onset[start.note], line.onset[last]
    entries = [int(other.onset[0]) for other in lines.lines if other.onset[0] > begin]
    if evidence.canon:
        entries.append(int(begin) + evidence.canon)
    at_entry = bool(entries) and abs(min(entries) - end) <= lines.measure_beat[0]
    varies = (reach.first_met < 0.5) + (reach.last_met <= 0.5)
    return (
        _AT_SECOND_ENTRY * at_entry
        + _ON_BEAT * bool(beats[last])
        + _MOTION_BREAKS * _breaks_after(line, last)
        + _EDGE_VARIES * varies
    )


def _breaks_after(line: Line, note: int) -> bool:
    """Say whether the motion changes at `note`: it is longer than the one before, or a rest follows."""
    return _rests_after(line, note) or bool(line.gap[note] > line.gap[note - 1])


def _rests_after(line: Line, note: int) -> bool:
    return note + 1 >= len(line) or bool(line.onset[note + 1] > line.end[note])
