"""The count table: how many statements each kind of section holds each time, which way up, in which hand."""

from __future__ import annotations

from counterpane.model.analysis import CountCell, Direction, Section, Sequence, Statement

_MOST_OF_SECTION = 0.6


def count_table(
    sections: tuple[Section, ...], statements: tuple[Statement, ...], sequences: tuple[Sequence, ...]
) -> tuple[CountCell, ...]:
    """Return one cell for each section, in time order."""
    stated = {statement.id: statement for statement in statements}
    sequenced = {sequence.id: sequence for sequence in sequences}
    return tuple(
        _cell(
            section,
            [stated[name] for name in section.statements if name in stated],
            tuple(sequenced[name] for name in section.sequences if name in sequenced),
        )
        for section in sections
    )


def section_sequence(section: Section, sequences: tuple[Sequence, ...]) -> Sequence | None:
    """Return the sequence that marks a section: one of three or more copies, or through most of the section."""
    inside = [q for q in sequences if q.id in section.sequences]
    length = section.end.offset - section.start.offset
    marking = [
        q for q in inside if q.count > 2 or q.end.offset - q.start.offset >= _MOST_OF_SECTION * float(length)
    ]
    return max(marking, key=lambda q: (len(q.statements), len(q.notes)), default=None)


def _cell(section: Section, inside: list[Statement], sequences: tuple[Sequence, ...]) -> CountCell:
    sequence = section_sequence(section, sequences)
    direction: Direction | None = sequence.direction if sequence else None
    return CountCell(
        kind=section.kind,
        time=section.time,
        section=section.label,
        statements=len(inside),
        upright=sum(statement.form != "inverted" for statement in inside),
        inverted=sum(statement.form == "inverted" for statement in inside),
        right=sum(statement.hand == "right" for statement in inside),
        left=sum(statement.hand == "left" for statement in inside),
        key=section.key,
        sequence=direction,
    )
