"""Musical decisions: what the analysis invites in each section, whose word stands, and how it is written down.

Three choices a section. *Shape*: grow, fade or steady. *Touch*: separate (a little space before each entry, so
that it is heard as a beginning) or joined (each entry under a slur). *Leads*: which hand is played out. The
invitations are proposals about style and say why; the student chooses, and the teacher's word is final.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from counterpane.analysis.counting import section_sequence
from counterpane.model.analysis import Analysis, Section, Statement
from counterpane.model.piece import Hand, Note, Piece
from counterpane.model.practice import Decision, Leads, Mark, Shape, Touch
from counterpane.wording import Catalogue, catalogue

_HANDS: tuple[Hand, Hand] = ("right", "left")
_LEADING, _FOLLOWING = "mf", "mp"


def invitations(
    piece: Piece,  # noqa: ARG001 - every question about a piece takes it, then its analysis
    analysis: Analysis,
    language: str = "en",
) -> tuple[Decision, ...]:
    """Return what the analysis invites in each section, with the reason."""
    words = catalogue("decisions", language)
    return tuple(_invitation(analysis, section, words) for section in analysis.sections)


def marks(piece: Piece, analysis: Analysis, decisions: Iterable[Decision]) -> tuple[Mark, ...]:
    """Return the ordinary notation for decisions: hairpins, dynamics, staccato dots, tenuto lines and slurs."""
    sections = {section.label: section for section in analysis.sections}
    return tuple(
        mark
        for decision in decisions
        if decision.section in sections
        for mark in _marks(piece, analysis, sections[decision.section], decision)
    )


def _invitation(analysis: Analysis, section: Section, words: Catalogue) -> Decision:
    entries = [each for each in analysis.statements if each.id in section.statements]
    shape, why_shape = _shape(analysis, section, words)
    touch, why_touch = _touch(entries, words)
    leads, why_leads = _leads(entries, words)
    named = {
        "shape": words.say(f"invitation.{shape}"),
        "touch": words.say(f"invitation.{touch}"),
        "leads": words.say(f"invitation.{leads}"),
    }
    return Decision(
        section=section.label,
        first_measure=section.first_measure,
        last_measure=section.last_measure,
        shape=shape,
        touch=touch,
        leads=leads,
        invitation=words.say("invitation.all", **named),
        reason=f"{why_shape} {why_touch} {why_leads}",
    )


def _shape(analysis: Analysis, section: Section, words: Catalogue) -> tuple[Shape, str]:
    sequence = section_sequence(section, analysis.sequences)
    measures = range(section.first_measure, section.last_measure + 1)
    peak_here = analysis.peak is not None and analysis.peak.place.measure in measures
    if sequence is None:
        return ("grow", words.say("reason.grow_to_peak")) if peak_here else ("steady", words.say("reason.steady"))
    if sequence.direction == "falling":
        return "fade", words.say("reason.fade", count=sequence.count)
    return "grow", words.say("reason.grow_peak" if peak_here else "reason.grow", count=sequence.count)


def _touch(entries: Sequence[Statement], words: Catalogue) -> tuple[Touch, str]:
    if len(entries) > 1:
        return "separate", words.say("reason.separate", count=len(entries))
    return "joined", words.say("reason.joined")


def _leads(entries: Sequence[Statement], words: Catalogue) -> tuple[Leads, str]:
    right, left = (sum(each.hand == hand for each in entries) for hand in _HANDS)
    if right == left:
        return "none", words.say("reason.none")
    leads: Leads = "right" if right > left else "left"
    return leads, words.say(f"reason.{leads}", count=max(right, left), all=right + left)


def _marks(piece: Piece, analysis: Analysis, section: Section, decision: Decision) -> Iterator[Mark]:
    measures = range(piece.measure_at(section.start.offset).index, piece.measure_at(section.end.offset).index + 1)
    inside = [note for note in piece.notes if piece.measure_at(note.onset).index in measures]
    by_hand = {hand: [note.id for note in inside if note.hand == hand] for hand in _HANDS}
    hairpin_hand = next((hand for hand in _HANDS if len(by_hand[hand]) > 1), None)
    if hairpin_hand is not None and decision.shape != "steady":
        ends = (by_hand[hairpin_hand][0], by_hand[hairpin_hand][-1])
        yield Mark("crescendo" if decision.shape == "grow" else "diminuendo", hairpin_hand, ends)
    if decision.leads != "none":
        for hand in _HANDS:
            if by_hand[hand]:
                text = _LEADING if hand == decision.leads else _FOLLOWING
                yield Mark("dynamic", hand, (by_hand[hand][0],), text)
    for statement in analysis.statements:
        if statement.id in section.statements:
            yield from _entry_marks(piece, statement, decision.touch)


def _entry_marks(piece: Piece, statement: Statement, touch: Touch) -> Iterator[Mark]:
    first = piece.by_id[statement.notes[0]]
    if touch == "joined":
        if len(statement.notes) > 1:
            yield Mark("slur", statement.hand, (statement.notes[0], statement.notes[-1]))
        return
    before = _note_before(piece, first)
    if before is not None:
        yield Mark("staccato", before.hand, (before.id,))
    yield Mark("tenuto", first.hand, (first.id,))


def _note_before(piece: Piece, first: Note) -> Note | None:
    """Return the note that leads into `first` in its voice without a rest; only that one has to be shortened."""
    earlier = [note for note in piece.voice_notes(first.voice) if note.onset < first.onset]
    return earlier[-1] if earlier and earlier[-1].end == first.onset else None
