"""A small sheet to draw on: SVG for a phone held upright, 390 wide, readable in light and dark.

Lines and text take the page's own colour (`currentColor`); the two hands have an Okabe-Ito colour each, and a
shape and a place of their own, so that colour is never needed to tell them apart. Both colours keep a contrast of
more than three to one on white and on near black. No styles, no scripts and no fixed size inside: the strictest
content policy shows it, as wide as the page has room.
Source of the colours: Okabe and Ito, "Color universal design".
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from counterpane.model.piece import Hand

WIDTH = 390.0
MARGIN = 34.0
TEXT_SIZE = 14
COLOURS: dict[Hand, str] = {"right": "#0072B2", "left": "#D55E00"}
Point = tuple[float, float]


class Drawing:
    """Shapes in order, from the back to the front; coordinates in pixels from the top left."""

    def __init__(self, height: float) -> None:
        self.height = height
        self._shapes: list[str] = []

    def line(self, start: Point, end: Point, *, faint: bool = False, dashed: bool = False) -> None:
        """Draw a straight line in the page's colour."""
        look = ' stroke-opacity="0.35"' if faint else ""
        look += ' stroke-dasharray="5 4"' if dashed else ""
        self._shapes.append(
            f'<line x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}"'
            f' stroke="currentColor" stroke-width="1"{look}/>'
        )

    def band(self, top: float, bottom: float) -> None:
        """Shade a band over the width inside the margins."""
        width = WIDTH - 2 * MARGIN + 20
        self._shapes.append(
            f'<rect x="{MARGIN:.0f}" y="{top:.1f}" width="{width:.0f}" height="{bottom - top:.1f}"'
            ' fill="currentColor" fill-opacity="0.08"/>'
        )

    def path(self, points: Iterable[Point], hand: Hand | None = None, *, dashed: bool = False) -> None:
        """Draw a line through points, in the hand's colour or the page's."""
        joined = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        colour = COLOURS[hand] if hand else "currentColor"
        dash = ' stroke-dasharray="6 4"' if dashed else ""
        self._shapes.append(f'<polyline points="{joined}" fill="none" stroke="{colour}" stroke-width="2"{dash}/>')

    def note(self, at: Point, hand: Hand, *, stem_from: float | None = None) -> None:
        """Draw one note: a disc for the right hand, a square for the left; a stem tells how far from a line."""
        x, y = at
        colour = COLOURS[hand]
        if stem_from is not None:
            self._shapes.append(
                f'<line x1="{x:.1f}" y1="{stem_from:.1f}" x2="{x:.1f}" y2="{y:.1f}"'
                f' stroke="{colour}" stroke-width="2"/>'
            )
        if hand == "right":
            self._shapes.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colour}"/>')
        else:
            self._shapes.append(
                f'<rect x="{x - 2.8:.1f}" y="{y - 2.8:.1f}" width="5.6" height="5.6" fill="{colour}"/>'
            )

    def dot(self, at: Point) -> None:
        """Draw a dot in the page's colour."""
        self._shapes.append(f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="3.5" fill="currentColor"/>')

    def pause(self, at: Point) -> None:
        """Draw a pause: two upright strokes."""
        x, y = at
        self.line((x - 2, y - 9), (x - 2, y + 9))
        self.line((x + 2, y - 9), (x + 2, y + 9))

    def text(self, at: Point, words: str, *, anchor: str = "start") -> None:
        """Write words with their base line at a point."""
        self._shapes.append(
            f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" font-size="{TEXT_SIZE}" fill="currentColor"'
            f' text-anchor="{anchor}">{escape(words)}</text>'
        )

    def svg(self, title: str, description: str) -> str:
        """Return the whole as an SVG element with its title and description."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {self.height:.0f}"'
            f' role="img" aria-label="{escape(title)}">'
            f"<title>{escape(title)}</title><desc>{escape(description)}</desc>{''.join(self._shapes)}</svg>"
        )


def across(value: float, low: float, high: float) -> float:
    """Return the x of a value between `low` and `high`, inside the margins."""
    share = (value - low) / (high - low) if high > low else 0.5
    return MARGIN + 8 + share * (WIDTH - 2 * MARGIN - 2)


def upward(value: float, low: float, high: float, top: float, bottom: float) -> float:
    """Return the y of a value between `low` (at the bottom) and `high` (at the top), cut to the frame."""
    share = (value - low) / (high - low) if high > low else 0.5
    return bottom - min(1.0, max(0.0, share)) * (bottom - top)
