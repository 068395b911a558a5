"""The analysis as a sheet for the lesson, printed to a terminal.

Statements stand on a line of measures for each hand: a rising stroke where an upright one begins, a falling stroke
where an inverted one does, a dash for as long as it lasts. Colour adds nothing that the strokes do not say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import fill

from rich import box
from rich.console import Console
from rich.table import Table

from counterpane.analysis.cadences import cadence_name
from counterpane.analysis.comparison import number_word
from counterpane.cli._measure_lines import measure_lines
from counterpane.model.analysis import Analysis, Comparison, CountCell, Sequence, Subject, Suggestion
from counterpane.model.piece import Piece, Place
from counterpane.units import pitch_name

# Where every entry begins is drawn on the lines of measures already.
_TOLD = frozenset({"grow", "ease", "balance", "arrive"})


def print_sheet(piece: Piece, analysis: Analysis, console: Console | None = None) -> None:
    """Print the sheet of one piece."""
    console = console or Console(highlight=False, soft_wrap=False)
    console.print(f"[bold]{piece.title or 'Untitled'}[/bold]" + (f", {piece.composer}" if piece.composer else ""))
    console.print(f"{analysis.key}, {piece.meter}, {len(piece.measures)} measures")
    for warning in analysis.warnings:
        console.print(f"Note: {warning}")
    console.print()
    for line in _subject(piece, analysis):
        _print_line(console, line)
    console.print()
    console.print(_count_table(analysis))
    for line in measure_lines(piece, analysis, console.width):
        console.print(line, markup=False)
    for heading, lines in _lists(analysis):
        console.print(f"[bold]{heading}[/bold]")
        for line in lines:
            _print_line(console, f"  {line}")
        console.print()


def _print_line(console: Console, line: str) -> None:
    console.print(fill(line, console.width, subsequent_indent="    "), markup=False)


def _subject(piece: Piece, analysis: Analysis) -> list[str]:
    """Return the subject with its notes, the reason for it, and what else it may be."""
    subject = analysis.subject
    if subject is None:
        return [analysis.no_subject_reason]
    names = " ".join(pitch_name(piece.by_id[note].pitch) for note in subject.notes)
    lines = [
        f"Subject: {_reading(subject)}: {names}",
        f"  {_sentence(subject.reason)} (confidence {subject.confidence:.0%})",
    ]
    others = [f"{_reading(other)}, {len(other.notes)} notes" for other in analysis.alternatives]
    return lines + ([f"  Other readings: {'; '.join(others)}."] if others else [])


def _reading(subject: Subject) -> str:
    return f"{subject.hand} hand, {_place(subject.start)} to {_place(subject.end)}"


def _count_table(analysis: Analysis) -> Table:
    """Return kinds of sections as rows, times as columns; one section without fellows still has its cell."""
    times = sorted({cell.time for cell in analysis.count_table})
    table = Table(title="Statements by section", title_justify="left", box=box.SIMPLE_HEAVY, show_lines=True)
    table.add_column("kind")
    for time in times:
        table.add_column(f"{_ordinal(time)} time")
    cells = {(cell.kind, cell.time): cell for cell in analysis.count_table}
    spans = {s.label: _measures(s.first_measure, s.last_measure) for s in analysis.sections}
    for kind in dict.fromkeys(cell.kind for cell in analysis.count_table):
        row = [_cell(cells[kind, time], spans) if (kind, time) in cells else "" for time in times]
        table.add_row(kind, *row)
    return table


def _measures(first: int, last: int) -> str:
    return f"m. {first}" if first == last else f"mm. {first}–{last}"


def _cell(cell: CountCell, spans: dict[str, str]) -> str:
    forms = [(cell.upright, "╱ upright"), (cell.inverted, "╲ inverted")]
    hands = [(cell.right, "right"), (cell.left, "left")]
    lines = [
        f"[bold]{cell.statements}[/bold]  {spans[cell.section]}, {cell.key}",
        ", ".join(f"{count} {name}" for count, name in forms if count),
        ", ".join(f"{count} {name}" for count, name in hands if count),
        f"{_arrow(cell.sequence)} {cell.sequence} sequence" if cell.sequence else "",
    ]
    return "\n".join(line for line in lines if line)


def _arrow(direction: str) -> str:
    return "↗" if direction == "rising" else "↘"


def _changes(analysis: Analysis) -> list[str]:
    """Return what changed each time against the time before, and at the last time against the first."""
    times = {section.label: (section.kind, section.time) for section in analysis.sections}
    last = dict(times.values())
    return [
        f"{comparison.first} → {comparison.second}: " + " ".join(d.text for d in comparison.differences)
        for comparison in analysis.comparisons
        if comparison.differences and _is_told(comparison, times, last)
    ]


def _is_told(comparison: Comparison, times: dict[str, tuple[str, int]], last: dict[str, int]) -> bool:
    (kind, first), (_, second) = times[comparison.first], times[comparison.second]
    return second == first + 1 or (first == 1 and second == last[kind])


def _exchanges(analysis: Analysis) -> list[str]:
    """Return what returns with the hands exchanged, in the order of the piece."""
    return [
        f"{_measures(one.first_start.measure, one.first_end.measure)} return as "
        f"{_measures(one.second_start.measure, one.second_end.measure)}: each hand has what the other had."
        for one in sorted(analysis.exchanges, key=lambda one: (one.first_start.offset, one.second_start.offset))
    ]


def _suggestions(analysis: Analysis) -> list[str]:
    """Return each suggestion once, with all its places; the reason where it is the same at all of them."""
    same: dict[str, list[Suggestion]] = {}
    for suggestion in analysis.suggestions:
        if suggestion.kind in _TOLD:
            same.setdefault(suggestion.text, []).append(suggestion)
    lines = []
    for text, group in same.items():
        reasons = dict.fromkeys(suggestion.reason for suggestion in group)
        places = "; ".join(_place(suggestion.place) for suggestion in group)
        lines.append(f"{places}: {text}" + (f" {next(iter(reasons))}" if len(reasons) == 1 else ""))
    return lines


def _lists(analysis: Analysis) -> Iterator[tuple[str, list[str]]]:
    """Yield headings with their lines; what was not found has no heading."""
    named: Iterable[tuple[str, list[str]]] = (
        ("Sequences", [_sequence(sequence) for sequence in analysis.sequences]),
        ("Cadences", [f"{_place(c.place)}: {cadence_name(c)} ({c.confidence:.0%})" for c in analysis.cadences]),
        ("What changed", _changes(analysis)),
        ("Countersubject", [analysis.countersubject.reason] if analysis.countersubject else []),
        ("Hands exchanged", _exchanges(analysis)),
        ("Pedal points", [f"{_place(p.start)}, {p.hand} hand: {p.reason}" for p in analysis.pedal_points]),
        ("Peak", [f"{_place(analysis.peak.place)}: {analysis.peak.reason}"] if analysis.peak else []),
        ("Suggestions", _suggestions(analysis)),
    )
    return (pair for pair in named if pair[1])


def _sequence(sequence: Sequence) -> str:
    kind = "real" if sequence.real else "diatonic"
    where = f"{_place(sequence.start)} to {_place(sequence.end)}"
    count = f"{number_word(sequence.count)} copies, {sequence.direction}, {kind}"
    return f"{_arrow(sequence.direction)} {where}: {count}. {sequence.reason}"


def _place(place: Place) -> str:
    return f"m. {place.measure} beat {float(place.beat):g}"


def _ordinal(number: int) -> str:
    return {1: "1st", 2: "2nd", 3: "3rd"}.get(number, f"{number}th")


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."
