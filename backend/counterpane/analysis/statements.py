"""Every statement of a subject in a piece: form, extent, likeness, and the notes it rests on.

Definitions (DESIGN.md, section 6): matching is on spelled scale steps and times, so that a transposition within
the key matches; ornaments, tied and split notes do not break it; the last note's length is free. Which claims
stand is settled over the whole piece at once.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from counterpane.analysis.matching import Figure, figure_of
from counterpane.analysis.null_model import null_model_of
from counterpane.analysis.statements_claims import Claim, claims
from counterpane.analysis.statements_cover import best_cover
from counterpane.analysis.statements_extension import with_extensions
from counterpane.analysis.statements_wording import statement_of
from counterpane.analysis.steps import Flags, Lines, line_of, lines_of
from counterpane.model.analysis import Form, Statement, Subject
from counterpane.model.piece import Piece


def find_statements(piece: Piece, subject: Subject, *, lines: Lines | None = None) -> tuple[Statement, ...]:
    """Return the statements of `subject` in order of time, the higher voice first, ids "s1", "s2", ….

    `lines` saves making them when they are at hand.
    """
    lines = lines or lines_of(piece)
    if len(subject.notes) < 2:
        return ()
    line = line_of(subject.voice, tuple(piece.by_id[id_] for id_ in subject.notes), lines.ticks_per_quarter)
    figure = figure_of(line, lines, null_model_of(lines))
    usual = best_cover([claim for form, shape in usual_forms(figure) for claim in claims(shape, form, lines)])
    figure = figure_of(line, lines, null_model_of(lines, stated(usual, lines)))
    notes = lines.joined.notes
    extended = with_extensions(figure, lines.joined, cover_of(figure, lines))
    extended.sort(key=lambda pair: (notes[pair[0].first].onset, pair[0].first))
    return tuple(
        statement_of(piece, lines.joined, figure, claim, extra, f"s{number}")
        for number, (claim, extra) in enumerate(extended, 1)
    )


def cover_of(figure: Figure, lines: Lines) -> list[Claim]:
    """Return the claims of `figure` in all its forms that stand, line by line."""
    return best_cover([claim for form, as_form in forms_of(figure) for claim in claims(as_form, form, lines)])


def stated(cover: list[Claim], lines: Lines) -> Flags:
    """Mark the notes of the joined line that belong to statements."""
    marked = np.zeros(len(lines.joined), dtype=np.bool_)
    for claim in cover:
        marked[claim.first : claim.last + 1] = True
    return marked


def usual_forms(figure: Figure) -> list[tuple[Form, Figure]]:
    """Return the figure upright and inverted."""
    return [("upright", figure), ("inverted", replace(figure, mirrored=True))]


def forms_of(figure: Figure) -> list[tuple[Form, Figure]]:
    """Return the figure as it looks in each form."""
    forms = usual_forms(figure)
    forms.append(("augmented", replace(figure, onset=figure.onset * 2, length=figure.length * 2)))
    if not (figure.onset % 2).any():
        forms.append(("diminished", replace(figure, onset=figure.onset // 2, length=figure.length // 2)))
    backward = replace(
        figure,
        onset=(figure.length - np.append(figure.onset[1:], figure.length))[::-1],
        step=figure.step[::-1],
        semitone=figure.semitone[::-1],
        bits=np.append(0.0, figure.bits[:0:-1]),
    )
    if not _looks_like(backward, figure):
        forms.append(("retrograde", backward))
    return forms


def _looks_like(one: Figure, other: Figure) -> bool:
    """Say whether one figure has the movement of the other, upright or inverted."""
    moves, others = np.diff(one.step), np.diff(other.step)
    return bool((moves == others).all() or (moves == -others).all())
