"""The subject, found without being told: the opening idea that best explains the piece.

Every place where a voice enters in the opening is tried with every end from half a measure to four measures; the
best must be imitated by another voice, and explain more than chance. Method: two-part description length
(Rissanen, "Modeling by shortest data description", Automatica 14, 1978); the preferences among candidates are in
`subject_ranking`, what counts as imitation in `subject_evidence`.
"""

from __future__ import annotations

from itertools import chain

import numpy as np

from counterpane.analysis.matching import figure_of
from counterpane.analysis.null_model import null_model_of
from counterpane.analysis.steps import Lines, lines_of
from counterpane.analysis.subject_evidence import Evidence, evidence_of, mostly_saves_less, shuffled_savings
from counterpane.analysis.subject_ranking import LEAST_SAVED, Candidate, in_joined, ranked_candidates
from counterpane.analysis.subject_search import reach_of_prefixes
from counterpane.model.analysis import Subject
from counterpane.model.piece import Piece

_KEPT = 3
_FEWEST_NOTES = 8
# So many candidates are tried, as long as they are worth this share of the best.
_MOST_TRIED = 4
_NEARLY_AS_GOOD = 0.5
# Besides the least for any subject, imitations save so many bits for each note of the piece, the fewer, the more
# bits another voice enters with (entry, bits) ...
_LEAST_A_NOTE = ((12.0, 0.03), (1.0, 0.12))
# ... or, where none enters with it, as the second voice goes along from the start, answers with while it goes on.
# A clear answer is asked no more of than an entry that is not clear ...
_LEAST_A_NOTE_AMID = ((12.0, 0.12), (0.0, 0.38))
# ... and this many times what its shuffled intervals save, and a little.
_ABOVE_CHANCE = 2.0
_LEAST_ABOVE_CHANCE = 10.0


def find_subjects(piece: Piece, *, lines: Lines | None = None) -> tuple[Subject, ...]:
    """Return up to three subjects, the best first; none when nothing returns as a subject does.

    `lines` saves making them when they are at hand.
    """
    lines = lines or lines_of(piece)
    ranked = ranked_candidates(piece, lines)
    kept = ranked[_first_subject(lines, ranked) :][:_KEPT]
    return tuple(_subject(piece, lines, candidate, kept[0]) for candidate in kept)


def no_subject_reason(piece: Piece, found: tuple[Subject, ...] | None = None) -> str:
    """Say in one sentence why the piece has no subject; empty when it has one.

    `found` saves looking for subjects when that has been done.
    """
    if len(piece.voices) < 2:
        return "A subject is taken up by another voice, and the piece has only one."
    if len(piece.notes) < _FEWEST_NOTES:
        return f"The piece has {len(piece.notes)} notes, too few for an idea to return."
    if find_subjects(piece) if found is None else found:
        return ""
    return "No opening idea is taken up by another voice often enough, and closely enough, to count as a subject."


def _first_subject(lines: Lines, ranked: list[Candidate]) -> int:
    """Return the place of the best candidate that is a subject, past the end where none is.

    The best may fail by a note too many or too few at its end; a part of one that fails is no subject either.
    """
    refused: list[Candidate] = []
    for place, candidate in enumerate(ranked):
        if len(refused) == _MOST_TRIED or candidate.score < _NEARLY_AS_GOOD * ranked[0].score:
            break
        if not any(candidate.is_part_of(other) for other in refused):
            if _is_subject(lines, candidate):
                return place
            refused.append(candidate)
    return len(ranked)


def _is_subject(lines: Lines, candidate: Candidate) -> bool:
    """Say whether the candidate explains more than chance, judged by the habits of the rest of the piece."""
    stated = np.zeros(len(lines.joined), dtype=np.bool_)
    for first, last in zip(candidate.reach.firsts, candidate.reach.lasts, strict=True):
        stated[first : last + 1] = True
    null_model = null_model_of(lines, stated)
    line = lines.lines[candidate.line].part(candidate.note, candidate.size)
    figure = figure_of(line, lines, null_model)
    own = in_joined(lines, candidate.line, candidate.note)
    [reach] = reach_of_prefixes(figure, (candidate.size,), lines)
    evidence = evidence_of(lines, reach, own)
    if evidence.saved < max(LEAST_SAVED, _least_a_note(evidence) * len(lines.joined)):
        return False
    most_by_chance = (evidence.saved - _LEAST_ABOVE_CHANCE) / _ABOVE_CHANCE
    return mostly_saves_less(shuffled_savings(lines, null_model, figure, own, stated), most_by_chance)


def _least_a_note(evidence: Evidence) -> float:
    entering = (bits for entry, bits in _LEAST_A_NOTE if evidence.entry >= entry)
    amid = (bits for answer, bits in _LEAST_A_NOTE_AMID if evidence.answer >= answer)
    return min(chain(entering, amid))


def _subject(piece: Piece, lines: Lines, candidate: Candidate, best: Candidate) -> Subject:
    notes = lines.lines[candidate.line].part(candidate.note, candidate.size).notes
    certainty = 1 - 2.0 ** (-min(candidate.evidence.saved, best.evidence.saved) / 40)
    return Subject(
        hand=notes[0].hand,
        voice=notes[0].voice,
        start=piece.place(notes[0].onset),
        end=piece.place(notes[-1].onset),
        notes=tuple(note.id for note in notes),
        confidence=round(min(1.0, candidate.score / best.score) * certainty, 3),
        reason=_reason(candidate),
    )


def _reason(candidate: Candidate) -> str:
    returns, whole = len(candidate.reach.firsts) - 1, sum(candidate.reach.whole) - 1
    times = "once" if returns == 1 else f"{returns} times"
    complete = "whole" if whole == returns else f"{whole} of them whole"
    return (
        f"This opening idea of {candidate.size} notes returns {times}, {complete}, also in another voice, and "
        "explains more of the piece than its own notes in another order would."
    )
