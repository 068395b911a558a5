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
from counterpane.model.analysis import Analysis, Comparison, CountCell, Sequence, Subject
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
    console.print(_subject(piece, analysis.subject) if analysis.subject else analysis.no_subject_reason)
    console.print()
    console.print(_count_table(analysis))
    for line in measure_lines(piece, analysis, console.width):
        console.print(line, markup=False)
    for heading, lines in _lists(analysis):
        console.print(f"[bold]{heading}[/bold]")
        for line in lines:
            console.print(fill(line, console.width, initial_indent="  ", subsequent_indent="    "), markup=False)
        console.print()


def _subject(piece: Piece, subject: Subject) -> str:
    names = " ".join(pitch_name(piece.by_id[note].pitch) for note in subject.notes)
    return (
        f"Subject: {subject.hand} hand, {_place(subject.start)} to {_place(subject.end)}: {names}\n"
        f"  {_sentence(subject.reason)} (confidence {subject.confidence:.0%})"
    )


def _count_table(analysis: Analysis) -> Table:
    """Return kinds of sections as rows, times as columns; one section without fellows still has its cell."""
    times = sorted({cell.time for cell in analysis.count_table})
    table = Table(title="Statements by section", title_justify="left", box=box.SIMPLE_HEAVY, show_lines=True)
    table.add_column("kind")
    for time in times:
        table.add_column(f"{_ordinal(time)} time")
    cells = {(cell.kind, cell.time): cell for cell in analysis.count_table}
    spans = {s.label: f"mm. {s.first_measure}–{s.last_measure}" for s in analysis.sections}
    for kind in dict.fromkeys(cell.kind for cell in analysis.count_table):
        row = [_cell(cells[kind, time], spans) if (kind, time) in cells else "" for time in times]
        table.add_row(kind, *row)
    return table


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


def _changes(comparison: Comparison) -> str:
    return f"{comparison.first} → {comparison.second}: " + " ".join(d.text for d in comparison.differences)


def _lists(analysis: Analysis) -> Iterator[tuple[str, list[str]]]:
    """Yield headings with their lines; what was not found has no heading."""
    named: Iterable[tuple[str, list[str]]] = (
        ("Sequences", [_sequence(sequence) for sequence in analysis.sequences]),
        ("Cadences", [f"{_place(c.place)}: {cadence_name(c)} ({c.confidence:.0%})" for c in analysis.cadences]),
        ("What changed", [_changes(comparison) for comparison in analysis.comparisons if comparison.differences]),
        ("Countersubject", [analysis.countersubject.reason] if analysis.countersubject else []),
        ("Hands exchanged", [exchange.reason for exchange in analysis.exchanges]),
        ("Pedal points", [f"{_place(p.start)}, {p.hand} hand: {p.reason}" for p in analysis.pedal_points]),
        ("Peak", [f"{_place(analysis.peak.place)}: {analysis.peak.reason}"] if analysis.peak else []),
        (
            "Suggestions",
            [f"{_place(s.place)}: {s.text} {s.reason}" for s in analysis.suggestions if s.kind in _TOLD],
        ),
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
