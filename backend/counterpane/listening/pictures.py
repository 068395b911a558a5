"""Pictures of an attempt, each an SVG with the same told in words: timing, loudness through sequences, tempo.

All are drawn for a phone (pictures_drawing.py). Words come from the table [pictures] of drills/findings.*.toml.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median
from typing import Literal

import numpy as np

from counterpane.listening.measures import Heard, hear
from counterpane.listening.measures.deviations import Deviation, deviations
from counterpane.listening.measures.sequences import loudness_of
from counterpane.listening.measures.thresholds import just_heard_ms
from counterpane.listening.measures.trend import robust_trend
from counterpane.listening.pictures_drawing import MARGIN, WIDTH, Drawing, across, upward
from counterpane.listening.wording import Wording, load_wording
from counterpane.model.analysis import Analysis, Sequence
from counterpane.model.assessment import Assessment
from counterpane.model.performance import Performance
from counterpane.model.piece import Piece

PictureKind = Literal["timing", "loudness", "tempo", "attempts"]
QUARTERS_A_LINE = 16.0
LATEST_MS = 100.0
_ROW = 54.0
_SHAPES = {"right": "●", "left": "■"}
_LINE_HEIGHT = 2 * _ROW + 30


@dataclass(frozen=True)
class Picture:
    """An SVG element, and what it shows in words."""

    kind: PictureKind
    svg: str
    text: str


def attempt_pictures(
    piece: Piece, analysis: Analysis, assessment: Assessment, performance: Performance, *, language: str = "en"
) -> tuple[Picture, ...]:
    """Return the pictures that an attempt has notes enough for: timing, one a sequence, tempo."""
    heard = hear(piece, assessment.passage, performance, assessment.alignment)
    wording = load_wording(language)
    drawn = [timing_strip(heard, wording), *loudness_lines(heard, analysis, wording), tempo_line(heard, wording)]
    return tuple(picture for picture in drawn if picture is not None)


def timing_strip(heard: Heard, wording: Wording) -> Picture | None:
    """Draw each note early (up) or late (down), the right hand's row above the left's; pauses as two strokes."""
    rows = {(one.hand, one.onset): one for hand in heard.sheet.hands for one in deviations(heard, hand)}
    if not rows:
        return None
    lines = _lines(heard)
    drawing = Drawing(len(lines) * _LINE_HEIGHT + 24)
    for number, (start, end) in enumerate(lines):
        inside = [one for one in rows.values() if start <= one.onset < end]
        _timing_line(drawing, heard, wording, inside, (start, end), number * _LINE_HEIGHT + 12)
    title = wording.picture("timing")
    text = " ".join(_timing_words(heard, wording, list(rows.values())))
    return Picture("timing", drawing.svg(title, text), text)


def loudness_lines(heard: Heard, analysis: Analysis, wording: Wording) -> Iterator[Picture]:
    """Draw the loudness of each sequence's notes with the line through them."""
    if not heard.has_touch:
        return
    for found in analysis.sequences:
        picture = _loudness_line(heard, found, wording)
        if picture is not None:
            yield picture


def tempo_line(heard: Heard, wording: Wording) -> Picture | None:
    """Draw the local tempo of every pass over the measures, with the goal as a dashed line."""
    passes = [(one, one.line) for one in heard.passes if one.line is not None]
    if not passes:
        return None
    goal = heard.passage.tempo
    tempos = [60_000 / line.quarter_ms(line.onsets) for _, line in passes]
    low = min([goal, *(float(row.min()) for row in tempos)]) * 0.9
    high = max([goal, *(float(row.max()) for row in tempos)]) * 1.1
    first, last = heard.sheet.onsets[0], heard.sheet.onsets[-1]
    drawing = Drawing(150)
    _measure_marks(drawing, heard, (first, last), (20, 120))
    height = upward(goal, low, high, 20, 120)
    drawing.line((MARGIN, height), (WIDTH - MARGIN + 8, height), dashed=True)
    drawing.text((2, height + 4), f"{goal:.0f}")
    for (_, line), row in zip(passes, tempos, strict=True):
        drawing.text(
            (WIDTH - 4, upward(float(row[-1]), low, high, 20, 120) - 5), f"{float(row[-1]):.0f}", anchor="end"
        )
        drawing.path(
            (across(onset, first, last), upward(tempo, low, high, 20, 120))
            for onset, tempo in zip(line.onsets.tolist(), row.tolist(), strict=True)
        )
    longest = max(tempos, key=len)
    text = wording.picture(
        "tempo_text", start=f"{float(longest[0]):.0f}", end=f"{float(longest[-1]):.0f}", goal=f"{goal:.0f}"
    )
    return Picture("tempo", drawing.svg(wording.picture("tempo"), text), text)


def _lines(heard: Heard) -> list[tuple[float, float]]:
    """Break the passage into lines of whole measures, each at most QUARTERS_A_LINE long; return start and end."""
    first, last = heard.sheet.onsets[0], heard.sheet.onsets[-1]
    lines: list[tuple[float, float]] = []
    for measure in heard.sheet.piece.measures:
        start, end = float(measure.onset), float(measure.end)
        if end <= first or start > last:
            continue
        if lines and end - lines[-1][0] <= QUARTERS_A_LINE:
            lines[-1] = lines[-1][0], end
        else:
            lines.append((start, end))
    return lines


def _timing_line(
    drawing: Drawing,
    heard: Heard,
    wording: Wording,
    inside: list[Deviation],
    span: tuple[float, float],
    top: float,
) -> None:
    start, end = span
    longest = start + QUARTERS_A_LINE
    _measure_marks(drawing, heard, (start, longest), (top, top + 2 * _ROW), until=end)
    for row, hand in enumerate(heard.sheet.hands):
        middle = top + _ROW * (row + 0.5)
        mine = [one for one in inside if one.hand == hand]
        if mine:
            quiet = _ROW / 2 * just_heard_ms(median(one.interval_ms for one in mine)) / LATEST_MS
            drawing.band(middle - quiet, middle + quiet)
        drawing.line((MARGIN, middle), (WIDTH - MARGIN + 8, middle), faint=True)
        drawing.text((2, middle + 4), wording.picture(f"short_{hand}"))
        for one in mine:
            away = max(-1.0, min(1.0, one.ms / LATEST_MS)) * (_ROW / 2 - 4)
            drawing.note((across(one.onset, start, longest), middle + away), hand, stem_from=middle)
    for played in heard.passes:
        for onset, _ in played.pauses:
            if start <= onset < end:
                drawing.pause((across(onset, start, longest) - 6, top + _ROW))


def _timing_words(heard: Heard, wording: Wording, rows: list[Deviation]) -> Iterator[str]:
    for hand in heard.sheet.hands:
        mine = [one for one in rows if one.hand == hand]
        if not mine:
            continue
        audible = [one for one in mine if abs(one.ms) > just_heard_ms(one.interval_ms)]
        if not audible:
            yield wording.picture("timing_true_text", hand=wording.word(hand), notes=len(mine))
            continue
        farthest = max(audible, key=lambda one: abs(one.ms))
        yield wording.picture(
            "timing_text",
            hand=wording.word(hand),
            notes=len(mine),
            early=sum(1 for one in audible if one.ms < 0),
            late=sum(1 for one in audible if one.ms > 0),
            ms=round(abs(farthest.ms)),
            where=wording.where(heard.sheet.place(farthest.onset), heard.sheet.place(farthest.onset)),
        )


def _loudness_line(heard: Heard, found: Sequence, wording: Wording) -> Picture | None:
    struck = loudness_of(heard, found.notes)
    if len(struck) < 6 or struck[0].onset == struck[-1].onset:
        return None
    first, last = struck[0].onset, struck[-1].onset
    velocities = [s.played.velocity for s in struck]
    low, high = min(velocities) - 4, max(velocities) + 4
    drawing = Drawing(140)
    _measure_marks(drawing, heard, (first, last), (16, 110))
    for hand in found.hands:
        row = [s for s in struck if s.note.hand == hand]
        for s in row:
            drawing.note((across(s.onset, first, last), upward(s.played.velocity, low, high, 16, 110)), hand)
        if len({s.onset for s in row}) < 3:
            continue
        onsets = np.array([s.onset for s in row])
        loud = np.array([float(s.played.velocity) for s in row])
        slope = robust_trend(onsets, loud).slope
        centre = float(np.median(loud - slope * onsets))
        drawing.path(
            ((across(x, first, last), upward(centre + slope * x, low, high, 16, 110)) for x in (first, last)),
            hand,
            dashed=hand == "left",
        )
    names = " ".join(f"{_SHAPES[hand]} {wording.picture(f'short_{hand}')}" for hand in found.hands)
    drawing.text((WIDTH - 8, 137), names, anchor="end")
    change = _ends(velocities)
    text = wording.picture(
        "loudness_text",
        where=wording.where(heard.sheet.place(first), heard.sheet.place(last)),
        start=change[0],
        end=change[1],
    )
    return Picture("loudness", drawing.svg(wording.picture("loudness"), text), text)


def _ends(velocities: list[int]) -> tuple[int, int]:
    third = max(1, len(velocities) // 3)
    return round(median(velocities[:third])), round(median(velocities[-third:]))


def _measure_marks(
    drawing: Drawing,
    heard: Heard,
    span: tuple[float, float],
    frame: tuple[float, float],
    *,
    until: float = math.inf,
) -> None:
    """Draw a faint line where each measure begins, and its number unless that would be too close to the last."""
    free_from = 0.0
    for measure in heard.sheet.piece.measures:
        onset = float(measure.onset)
        if not (span[0] <= onset <= span[1] and onset < until):
            continue
        x = across(onset, *span)
        drawing.line((x, frame[0]), (x, frame[1]), faint=True)
        if x >= free_from:
            drawing.text((x + 2, frame[1] + 13), str(measure.number))
            free_from = x + 24
