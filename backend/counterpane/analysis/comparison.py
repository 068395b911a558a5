"""How a section differs from an earlier one of its kind, as short facts."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from itertools import pairwise

from counterpane.analysis.cadences import cadence_name
from counterpane.analysis.counting import section_sequence
from counterpane.analysis.key_names import key_from_name
from counterpane.analysis.sections import Found
from counterpane.model.analysis import Cadence, Comparison, Difference, Section, Sequence, Statement
from counterpane.model.piece import Hand, Piece

_NUMBERS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
_UP = {0: "", 1: "a second higher", 2: "a third higher", 3: "a fourth higher", 4: "a fifth higher"}
_DOWN = {6: "a second lower", 5: "a third lower"}
_FIFTH_BELOW = "a fifth lower"


def compare_sections(piece: Piece, sections: tuple[Section, ...], found: Found) -> tuple[Comparison, ...]:
    """Return comparisons of every section with the one before of its kind, and of the last time with the first."""
    by_kind: dict[str, list[Section]] = {}
    for section in sections:
        by_kind.setdefault(section.kind, []).append(section)
    pairs = []
    for group in by_kind.values():
        pairs += list(pairwise(group))
        if len(group) > 2:
            pairs.append((group[0], group[-1]))
    pairs.sort(key=lambda pair: (pair[1].start.offset, pair[0].start.offset))
    return tuple(Comparison(a.label, b.label, tuple(_differences(piece, a, b, found))) for a, b in pairs)


def number_word(number: int) -> str:
    """Return "no", "one" … "twelve", then figures."""
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def _differences(piece: Piece, one: Section, other: Section, found: Found) -> Iterator[Difference]:
    ours, theirs = found.statements_of(one), found.statements_of(other)
    yield from _count(len(ours), len(theirs))
    yield from _hands(ours, theirs)
    yield from _form(ours, theirs)
    yield from _sequence(*(section_sequence(section, found.sequences_of(section)) for section in (one, other)))
    yield from _key(one.key, other.key)
    yield from _length(piece, one, other)
    yield from _ending(piece, one, other, found.cadences)


def _count(before: int, after: int) -> Iterator[Difference]:
    if before == after:
        return
    what = f"{before} {'statement' if before == 1 else 'statements'} became {after}"
    if abs(before - after) == 1 and before and after:
        what = f"one {'fewer' if after < before else 'more'}: {what}"
    yield Difference("count", f"{what[0].upper()}{what[1:]}.")


def _hands(ours: list[Statement], theirs: list[Statement]) -> Iterator[Difference]:
    if not ours or not theirs:
        return
    if all(_share(s) in (0.0, 1.0) for s in (ours, theirs)) and ours[0].hand != theirs[0].hand:
        yield Difference(
            "hands",
            f"The hands are exchanged: the {theirs[0].hand} hand states what the {ours[0].hand} hand stated.",
        )
    elif 0 < _share(ours) < 1 and 0 < _share(theirs) < 1 and ours[0].hand != theirs[0].hand:
        yield Difference("hands", f"The {theirs[0].hand} hand leads where the {ours[0].hand} hand led.")


def _share(statements: list[Statement]) -> float:
    """Return the share of the statements that the right hand has."""
    right: Hand = "right"
    return sum(statement.hand == right for statement in statements) / len(statements)


def _form(ours: list[Statement], theirs: list[Statement]) -> Iterator[Difference]:
    before, after = {s.form for s in ours}, {s.form for s in theirs}
    if not before or not after or before == after:
        return
    if len(before) == len(after) == 1:
        yield Difference("form", f"The subject is {after.pop()} where it was {before.pop()}.")
    elif new := sorted(after - before):
        yield Difference("form", f"The subject is also {' and '.join(new)} now.")
    else:
        yield Difference("form", f"The subject is only {' and '.join(sorted(after))} now.")


def _sequence(before: Sequence | None, after: Sequence | None) -> Iterator[Difference]:
    if before and after:
        if before.direction != after.direction:
            verbs = ("rises", "fell") if after.direction == "rising" else ("falls", "rose")
            yield Difference("direction", f"The sequence {verbs[0]} where it {verbs[1]}.")
        if before.count != after.count:
            gap = abs(after.count - before.count)
            change = f"{number_word(gap)} {'copy' if gap == 1 else 'copies'}"
            way = "fewer" if after.count < before.count else "more"
            text = f"The sequence has {change} {way}: {after.count} where there were {before.count}."
            yield Difference("repetitions", text)
    elif before or after:
        present = after or before
        assert present is not None
        verb = "There is now" if after else "There is no longer"
        yield Difference("sequence", f"{verb} a {present.direction} sequence.")


def _key(before: str, after: str) -> Iterator[Difference]:
    if before == after:
        return
    one, other = key_from_name(before), key_from_name(after)
    # Seven steps of the line of fifths change only the accidental; four fifths up are a third.
    steps = 4 * (other.fifth - one.fifth) % 7
    where = _FIFTH_BELOW if steps == 3 and other.fifth < one.fifth else {**_UP, **_DOWN}[steps]
    place = f"It lies {where}: in {after}, not {before}." if where else f"It is in {after}, not {before}."
    yield Difference("key", place)


def _length(piece: Piece, one: Section, other: Section) -> Iterator[Difference]:
    before, after = (_measures(piece, section) for section in (one, other))
    if before != after:
        gap = abs(after - before)
        yield Difference(
            "length",
            f"It is {'longer' if after > before else 'shorter'} by "
            f"{'a measure' if gap == 1 else number_word(gap) + ' measures'}.",
        )


def _measures(piece: Piece, section: Section) -> int:
    return piece.measure_at(section.end.offset).index - piece.measure_at(section.start.offset).index + 1


def _ending(piece: Piece, one: Section, other: Section, cadences: tuple[Cadence, ...]) -> Iterator[Difference]:
    before, after = (_close(piece, section, cadences) for section in (one, other))
    if (before and (before.kind, before.key)) == (after and (after.kind, after.key)):
        return
    if after:
        yield Difference(
            "ending",
            f"It ends with {cadence_name(after)}" + (f", not with {cadence_name(before)}." if before else "."),
        )
    elif before:
        yield Difference("ending", f"It does not end with {cadence_name(before)} any more.")


def _close(piece: Piece, section: Section, cadences: tuple[Cadence, ...]) -> Cadence | None:
    """Return the cadence at the end of a section, on its last beats or on the first beat after it."""
    last = piece.measure_at(section.end.offset)
    number = bisect_right(cadences, last.end, key=lambda cadence: cadence.place.offset) - 1
    return cadences[number] if number >= 0 and cadences[number].place.offset > last.onset else None
