"""From a claim that stands to the statement a teacher reads: extent, likeness, notes, confidence and reason."""

from __future__ import annotations

from typing import Literal

import numpy as np

from counterpane.analysis.matching import Figure
from counterpane.analysis.statements_claims import Claim
from counterpane.analysis.steps import Line
from counterpane.model.analysis import Extent, Likeness, Statement
from counterpane.model.piece import Piece

# A figure goes on past its end when what follows repeats its last notes' movement for at least this many notes.
LEAST_EXTENSION = 3


def statement_of(piece: Piece, line: Line, figure: Figure, claim: Claim, id_: str) -> Statement:
    """Return the statement that `claim` makes."""
    missing: Literal["head", "tail"] | None = None
    if claim.first_column:
        missing = "head"
    elif claim.last_column < len(figure) - 1:
        missing = "tail"
    extra = 0 if missing == "tail" else _extension(line, claim)
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


def _extension(line: Line, claim: Claim) -> int:
    """Count the notes after the end that go on with the movement of the last one to four."""
    last = claim.last
    interval, gap = line.interval, line.gap
    most = 0
    for period in range(1, min(4, (last - claim.first) // 2) + 1):
        count = 0
        while last + count < len(interval) and (
            interval[last + count] == interval[last + count - period] and gap[last + count - 1] == gap[last - 1]
        ):
            count += 1
        if count >= max(LEAST_EXTENSION, period + 1):
            most = max(most, count)
    return most


def _likeness(line: Line, figure: Figure, claim: Claim) -> tuple[Likeness, list[int]]:
    """Return how like the figure the claim is, and the notes of the line that differ."""
    columns = range(claim.first_column, claim.last_column + 1)
    varied = [
        note
        for note, met, off in zip(claim.notes, claim.met, claim.off, strict=True)
        if note >= 0 and not (met and off == 0)
    ]
    gone = any(note < 0 for note in claim.notes)
    shifted = claim.first_column < claim.split <= claim.last_column
    inserted = claim.last - claim.first + 1 - len({note for note in claim.notes if note >= 0})
    if varied or gone or inserted or shifted:
        return ("tonal" if _is_answer(figure, claim, gone=gone) else "varied"), varied
    semitones = np.diff(line.semitone[list(claim.notes)])
    expected = np.diff(figure.semitone[list(columns)])
    expected = -expected if figure.mirrored or claim.form == "inverted" else expected
    return ("exact" if (semitones == expected).all() else "diatonic"), []


def _is_answer(figure: Figure, claim: Claim, *, gone: bool) -> bool:
    """Say whether the only change is one step near the head, as an answer makes to keep the key."""
    early = (len(figure) + 1) // 2
    changed = [column for column, off in enumerate(claim.off, claim.first_column) if off]
    return not gone and len(changed) <= 1 and all(column <= early for column in changed) and claim.split <= early


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
