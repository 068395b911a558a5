"""Engraving: notation as SVG with the ids of the piece, for a phone, a tablet or a printed page."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from counterpane.errors import UnsuitableScore
from counterpane.model.piece import Hands, Measure, Piece
from counterpane.score.document import ScoreDocument
from counterpane.score.one_hand import keep_hand
from counterpane.score.verovio_process import VEROVIO

_NO_LIMIT = 60_000
_MARGIN = 20
_LABELS = re.compile(r"<(title|desc)\b[^>]*>[^<]*</\1>")
"""What verovio says of itself and of its selections; a browser would show it as a tooltip."""
_BRACE_MARGIN = 60
"""A brace reaches this far left of the staves, in verovio's page units."""


@dataclass(frozen=True)
class Engraving:
    """Engraved notation: one SVG a page, and the measures shown, as ids.

    Groups in the SVG carry the ids of the piece and verovio's classes ("measure", "staff", "layer", "chord",
    "note", "rest" …), so that a style sheet can colour a note or a measure by its id.
    """

    svgs: tuple[str, ...]
    measures: tuple[str, ...]


def engrave(
    document: ScoreDocument,
    first_measure: int | None = None,
    last_measure: int | None = None,
    hands: Hands = "both",
    width_px: int = 390,
    staff_scale: int = 40,
    *,
    page_height_px: int | None = None,
    one_line: bool = False,
    hit_boxes: bool = False,
) -> Engraving:
    """Engrave measures `first_measure` to `last_measure` (as printed, both included; None: to the end).

    `width_px` is the width of a page in CSS pixels and `staff_scale` the size of the notation in percent: 40
    suits a phone at arm's length, 30 a printed page. With `page_height_px` the music is broken into pages,
    else it is one page as high as it needs. `one_line` leaves the music unbroken; `hit_boxes` adds a
    transparent rectangle behind each symbol for fingers.

    Raises `UnsuitableScore` when no measure has one of the numbers or the range is turned round.
    """
    shown = measures_between(document.piece, first_measure, last_measure)
    mei = document.mei if hands == "both" else keep_hand(document, hands, shown)
    options = _options(width_px, staff_scale, page_height_px) | {
        "adjustPageWidth": one_line,
        "breaks": "none" if one_line else "auto",
        "svgBoundingBoxes": hit_boxes,
    }
    whole = len(shown) == len(document.piece.measures)
    answer = VEROVIO.to_svg(mei, options, None if whole else {"start": shown[0].id, "end": shown[-1].id})
    if not answer.pages:
        raise UnsuitableScore(
            "these measures cannot be engraved; export the score again and bring it in anew.",
            measure=shown[0].number,
        )
    svgs = tuple(_LABELS.sub("", svg) for svg in answer.pages)
    return Engraving(svgs, tuple(measure.id for measure in shown))


def _options(width_px: int, staff_scale: int, page_height_px: int | None) -> dict[str, Any]:
    """Return verovio's options for a page: its units are pixels times 100 / scale."""
    return {
        "pageWidth": max(100, round(width_px * 100 / staff_scale)),
        "pageHeight": _NO_LIMIT if page_height_px is None else max(100, round(page_height_px * 100 / staff_scale)),
        "adjustPageHeight": page_height_px is None,
        "scale": staff_scale,
        "header": "none",
        "footer": "none",
        "svgViewBox": True,
        "smuflTextFont": "none",
        "pageMarginLeft": _BRACE_MARGIN,
        "pageMarginRight": _MARGIN,
        "pageMarginTop": _MARGIN,
        "pageMarginBottom": _MARGIN,
    }


def measures_between(piece: Piece, first: int | None, last: int | None) -> tuple[Measure, ...]:
    """Return the measures printed `first` to `last`, both included; None means from or to the end.

    Of several measures with one number (a measure divided by a repeat sign) the range takes all.
    """
    numbers = [measure.number for measure in piece.measures]
    for number in (first, last):
        if number is not None and number not in numbers:
            raise UnsuitableScore(
                f"there is no measure {number}; the piece has measures {numbers[0]} to {numbers[-1]}."
            )
    start = 0 if first is None else numbers.index(first)
    stop = len(numbers) if last is None else len(numbers) - numbers[::-1].index(last)
    if start >= stop:
        raise UnsuitableScore(f"measure {last} comes before measure {first}; give the first measure first.")
    return piece.measures[start:stop]
