"""Engraved notation as the page may show it."""

from __future__ import annotations

import re

from counterpane.model.piece import Hands
from counterpane.model.practice import Mark
from counterpane.score import ScoreDocument, engrave
from counterpane.score.decisions import with_decisions
from counterpane.score.engraving import measures_between
from counterpane.studio.pages.pieces import EngravedPage

# The page's content security policy allows no inline style, so none is sent. What the engraver writes into <style>
# are defaults of strokes and text, which the page's own style sheet gives for notation.
_STYLE = re.compile(r"<style\b[^>]*>.*?</style>|<style\b[^>]*/>|\sstyle=\"[^\"]*\"|\sstyle='[^']*'", re.DOTALL)


def engraved(
    document: ScoreDocument,
    first: int | None,
    last: int | None,
    hands: Hands,
    width_px: int,
    scale: int,
    marks: tuple[Mark, ...],
) -> EngravedPage:
    """Engrave measures `first` to `last` (None: from or to the end) of one hand or both, with signs written in."""
    marked = with_decisions(document, marks) if marks else document
    found = engrave(marked, first, last, hands, width_px, scale)
    shown = measures_between(document.piece, first, last)
    svgs = tuple(plain_svg(svg) for svg in found.svgs)
    return EngravedPage(svgs, found.measures, shown[0].number, shown[-1].number, hands)


def plain_svg(svg: str) -> str:
    """Return an SVG without inline styles."""
    return _STYLE.sub("", svg)
