"""Cuts a piece into patches, and joins them: seams, then pairs, then the whole.

Definition. Patches are whole measures and follow the sections. A section that is longer than the level allows
at its difficulty is cut at bar lines, and never inside a statement of any voice: a bar line is *closed* when it
lies after a statement's first note and before its last. Where the last note itself falls on the bar line the
statement ends there; such a line is open, but one that no statement reaches is taken first. A bar line is
closed too when what a section has left after it is a scrap, fewer than four onsets (a last chord): nobody
practises that alone. Sections whose boundary is closed stay together. Among all ways to cut, the one is taken
that keeps most within the limit, then has the fewest parts, then begins most of them with a statement and ends
them clear of one, and then has the most even ones (dynamic programming, exact).

Both hands' patches line up, since a patch is the same measures for either hand.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from counterpane.model.analysis import Analysis, Section, Statement
from counterpane.model.piece import Piece
from counterpane.model.practice import Level, Patch, PatchKind
from counterpane.practice.difficulty import difficulties, goal_tempo
from counterpane.practice.ladders import Ladders, check_level, load_ladders
from counterpane.wording import Catalogue, catalogue

FEWEST_ONSETS = 4


@dataclass(frozen=True)
class _Stretch:
    """Measures `start` to `stop` by index (stop excluded) that belong together before they are cut."""

    start: int
    stop: int
    labels: tuple[str, ...]


@dataclass(frozen=True)
class _Cutter:
    """What cutting needs to know of the piece: bar lines are named by the index of the measure that they begin."""

    piece: Piece
    closed: frozenset[int]
    reached: frozenset[int]
    beginnings: frozenset[int]

    def open_between(self, start: int, stop: int) -> list[int]:
        return [line for line in range(start + 1, stop) if line not in self.closed]

    def roughness(self, line: int) -> float:
        """Price a bar line as the beginning of a part: 0 when a statement begins there and none ends on it."""
        return float(line not in self.beginnings) + float(line in self.reached)

    def quarters(self, start: int, stop: int) -> float:
        return float(self.piece.measures[stop - 1].end - self.piece.measures[start].onset)


def cut_patches(
    piece: Piece,
    analysis: Analysis,
    level: Level,
    tempo: float | None = None,
    *,
    ladders: Ladders | None = None,
    language: str = "en",
) -> tuple[Patch, ...]:
    """Return patches in score order, then seams, pairs and (for more than one patch) the whole piece.

    `tempo` is the goal in quarters a minute; the score's own, or 72, where none is given. A piece without a
    subject is cut in the same way, with every bar line open. Raises `DrillError` for a level that does not
    exist.
    """
    check_level(level)
    length = (ladders or load_ladders()).lengths[level]
    tiles = _tiles(piece, analysis.sections)
    make = _Maker(piece, tiles, goal_tempo(piece, tempo), language, catalogue("practice", language))
    cutter = _cutter(piece, analysis.statements, _scraps(piece, tiles))
    patches: list[Patch] = []
    bars: list[tuple[int, int]] = []
    for stretch in _stretches(tiles, cutter):
        _, _, both = difficulties(piece, range(stretch.start, stretch.stop), make.tempo)
        limit = length.quarters(both.score)
        cuts = _cut(stretch, cutter, limit)
        for number, (start, stop) in enumerate(pairwise(cuts), start=1):
            reason = make.reason(stretch, number, cuts, cutter.quarters(start, stop) > limit)
            patches.append(make.patch(f"p{len(patches) + 1}", "patch", (start, stop), reason))
            bars.append((start, stop))
    return (*patches, *_joined(patches, bars, make))


def _scraps(piece: Piece, tiles: Iterable[tuple[int, int, str]]) -> set[int]:
    """Return the bar lines after which a section has too little left to be practised alone."""
    struck = Counter(piece.measure_at(onset).index for onset in {note.onset for note in piece.notes})
    return {
        line
        for start, stop, _ in tiles
        for line in range(max(1, start), stop)
        if sum(struck[index] for index in range(line, stop)) < FEWEST_ONSETS
    }


def _cutter(piece: Piece, statements: Iterable[Statement], scraps: set[int]) -> _Cutter:
    closed = set(scraps)
    reached: set[int] = set()
    beginnings: set[int] = set()
    for statement in statements:
        first = piece.measure_at(statement.start.offset).index
        last = piece.measure_at(statement.end.offset)
        on_line = statement.end.offset == last.onset
        closed.update(range(first + 1, last.index + (0 if on_line else 1)))
        if on_line:
            reached.add(last.index)
        beginnings.add(first)
    return _Cutter(piece, frozenset(closed), frozenset(reached), frozenset(beginnings))


def _stretches(tiles: Iterable[tuple[int, int, str]], cutter: _Cutter) -> list[_Stretch]:
    """Return the sections as stretches that tile the piece, joined where their boundary is closed."""
    stretches: list[_Stretch] = []
    for start, stop, label in tiles:
        if stretches and start in cutter.closed:
            before = stretches.pop()
            stretches.append(_Stretch(before.start, stop, (*before.labels, label)))
        else:
            stretches.append(_Stretch(start, stop, (label,)))
    return stretches


def _tiles(piece: Piece, sections: Sequence[Section]) -> list[tuple[int, int, str]]:
    """Return (start, stop, label) by measure index; measures outside every section go with the section before."""
    starts: dict[int, str] = {}
    for section in sorted(sections, key=lambda each: each.start.offset):
        starts.setdefault(piece.measure_at(section.start.offset).index, section.label)
    labels = [label for _, label in sorted(starts.items())] or ["A1"]
    bounds = [0, *sorted(starts)[1:], len(piece.measures)]
    return [(start, stop, label) for (start, stop), label in zip(pairwise(bounds), labels, strict=True)]


def _cut(stretch: _Stretch, cutter: _Cutter, limit: float) -> list[int]:
    """Return the bar lines of the best cut, the outer two included."""
    lines = [stretch.start, *cutter.open_between(stretch.start, stretch.stop), stretch.stop]
    best: dict[int, tuple[tuple[float, ...], list[int]]] = {stretch.start: ((0.0, 0.0, 0.0, 0.0), [stretch.start])}
    for index, stop in enumerate(lines[1:], start=1):
        options = []
        for start in reversed(lines[:index]):
            length = cutter.quarters(start, stop)
            price, cuts = best[start]
            own = (max(0.0, length - limit), 1.0, cutter.roughness(start), length * length)
            options.append((tuple(a + b for a, b in zip(price, own, strict=True)), [*cuts, stop]))
            if length > limit:
                break  # a longer part exceeds the limit by more than its two halves do
        best[stop] = min(options)
    return best[stretch.stop][1]


@dataclass(frozen=True)
class _Maker:
    """Makes patches with their difficulty and the sentence that says why they are as they are."""

    piece: Piece
    tiles: Sequence[tuple[int, int, str]]
    tempo: float
    language: str
    words: Catalogue

    def patch(
        self,
        name: str,
        kind: PatchKind,
        bars: tuple[int, int],
        reason: str,
        parts: tuple[str, ...] = (),
    ) -> Patch:
        start, stop = bars
        measures = self.piece.measures
        sections = tuple(label for first, last, label in self.tiles if first < stop and last > start)
        right, left, both = difficulties(self.piece, range(start, stop), self.tempo, language=self.language)
        return Patch(
            id=name,
            kind=kind,
            section=sections[0],
            first_measure=measures[start].number,
            last_measure=measures[stop - 1].number,
            difficulty_right=right,
            difficulty_left=left,
            difficulty=both,
            reason=reason,
            quarters=float(measures[stop - 1].end - measures[start].onset),
            parts=parts,
            sections=sections,
        )

    def join(self, kind: PatchKind, sign: str, pair: tuple[Patch, Patch], bars: tuple[int, int]) -> Patch:
        left, right = pair
        reason = self.words.say(f"patch.{kind}")
        return self.patch(left.id + sign + right.id, kind, bars, reason, (left.id, right.id))

    def reason(self, stretch: _Stretch, number: int, cuts: Sequence[int], too_long: bool) -> str:
        start, stop = cuts[number - 1], cuts[number]
        first, last = self.piece.measures[start].number, self.piece.measures[stop - 1].number
        labels = " + ".join(stretch.labels)
        if too_long and stop - start > 1:
            return self.words.say("patch.kept", first=first, last=last)
        if len(cuts) > 2:
            return self.words.say("patch.part", number=number, count=len(cuts) - 1, section=labels)
        if len(stretch.labels) > 1:
            return self.words.say("patch.joined", sections=labels)
        return self.words.say("patch.section", section=labels, first=first, last=last)


def _joined(patches: Sequence[Patch], bars: Sequence[tuple[int, int]], make: _Maker) -> list[Patch]:
    """Return the seams, the pairs and the whole over `patches`, which lie between the bar lines `bars`."""
    if len(patches) < 2:
        return []
    neighbours = list(zip(pairwise(patches), pairwise(bars), strict=True))
    seams = [make.join("seam", "+", pair, (first[1] - 1, first[1] + 1)) for pair, (first, _) in neighbours]
    pairs = [make.join("pair", "-", pair, (first[0], second[1])) for pair, (first, second) in neighbours]
    everything = (0, len(make.piece.measures))
    parts = tuple(patch.id for patch in patches)
    whole = make.patch("whole", "whole", everything, make.words.say("patch.whole"), parts)
    return [*seams, *pairs, whole]
