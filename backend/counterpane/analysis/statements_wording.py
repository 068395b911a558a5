"""From a claim that stands to the statement a teacher reads: extent, likeness, notes, confidence and reason."""

from __future__ import annotations

from typing import Literal

import numpy as np

from counterpane.analysis.matching import Figure
from counterpane.analysis.statements_claims import Claim
from counterpane.analysis.steps import Line
from counterpane.model.analysis import Extent, Likeness, Statement
from counterpane.model.piece import Piece


def statement_of(piece: Piece, line: Line, figure: Figure, claim: Claim, extra: int, id_: str) -> Statement:
    """Return the statement that `claim` makes; it runs on past its end for `extra` notes."""
    missing: Literal["head", "tail"] | None = None
    if claim.first_column:
        missing = "head"
    elif claim.last_column < len(figure) - 1:
        missing = "tail"
    extent: Extent = "shortened" if missing else "extended" if extra else "complete"
    notes = line.notes[claim.first : claim.last + 1 + extra]
    likeness, varied = _likeness(line, figure, claim)
    confidence = round(
        1 / (1 + 2.0 ** (-claim.worth / 2)), 3
    )  # worth is log odds; halved, as notes depend on each other
    return Statement(
        id=id_,
        hand=notes[0].hand,
        voice=notes[0].voice,
        start=piece.place(notes[0].onset),
        end=piece.place(notes[-1].onset),
        form=claim.form,
        extent=extent,
        likeness=likeness,
        notes=tuple(note.id for note in notes),
        confidence=confidence,
        reason=_reason(claim, likeness, missing, extra, len(varied)),
        missing=missing,
        extra_notes=extra,
        varied_notes=tuple(line.notes[note].id for note in varied),
        axis_step=claim.shift,
    )


def _likeness(line: Line, figure: Figure, claim: Claim) -> tuple[Likeness, list[int]]:
    """Return how like the figure the claim is, and the notes of the line that differ."""
    varied = [
        note
        for note, met, off in zip(claim.notes, claim.met, claim.off, strict=True)
        if note >= 0 and not (met and off == 0)
    ]
    gone = any(note < 0 for note in claim.notes)
    inserted = claim.last - claim.first + 1 > len({note for note in claim.notes if note >= 0})
    if gone or inserted:
        return "varied", varied
    if varied or claim.turn:
        return ("tonal" if _is_answer(figure, claim) else "varied"), varied
    semitones = np.diff(line.semitone[list(claim.notes)])
    expected = np.diff(figure.semitone[claim.first_column : claim.last_column + 1])
    return (
        "exact" if (semitones == (-expected if claim.form == "inverted" else expected)).all() else "diatonic"
    ), []


def _is_answer(figure: Figure, claim: Claim) -> bool:
    """Say whether the head, or one note of it, is changed by one step: an answer that keeps the key."""
    early = (len(figure) + 1) // 2
    changed = [column for column, off in enumerate(claim.off, claim.first_column) if off]
    if claim.turn:
        return not changed and abs(claim.turn) == 1 and claim.split <= early
    together = len(changed) == 1 or changed == list(range(len(changed)))
    return together and changed[-1] <= early and {abs(off) for off in claim.off if off} == {1}


def _reason(claim: Claim, likeness: Likeness, missing: str | None, extra: int, varied: int) -> str:
    met = sum(claim.met)
    words = [f"{met} of the {len(claim.notes)} notes of the subject"]
    if missing:
        words = [
            f"the {'tail' if missing == 'head' else 'head'} of the subject, {met} of {len(claim.notes)} notes"
        ]
    if claim.form != "upright":
        words.append(claim.form)
    if likeness == "varied" and varied:
        words.append(f"{varied} changed")
    elif likeness != "varied":
        words.append(f"{likeness} likeness")
    if extra:
        words.append(f"runs on for {extra} notes")
    return ", ".join(words)
