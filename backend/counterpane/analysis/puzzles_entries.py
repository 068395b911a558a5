"""Puzzles about the subject's statements: where, how often, which way, in which hand, how much of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from counterpane.analysis.puzzles_material import SURE, WAYS, Material, Question, Stretch, notes_of, signs
from counterpane.model.analysis import Puzzle, Statement

_HANDS = ("right", "left")
_EXTENTS = ("complete", "shortened")
_AGREE = 0.8
_CLEARLY_SHORTER = 3


def entry_puzzles(material: Material) -> Iterator[Puzzle]:
    """Return the puzzles about statements; none where the piece has no subject."""
    if material.analysis.subject is None:
        return
    for stretch in material.stretches:
        entries = material.entries(stretch)
        if entries:
            yield from _of_stretch(material, stretch, entries)
        yield from _tap_shortened(material, stretch)
    for statement in material.analysis.statements:
        yield from _of_statement(material, statement)
    yield from _answering(material)


def _of_stretch(material: Material, stretch: Stretch, entries: Sequence[Statement]) -> Iterator[Puzzle]:
    if _apart(material, entries):
        yield _tap_entries(material, stretch, entries)
    yield _count_entries(material, stretch, entries)
    yield from _leads(material, stretch, entries)
    if len(entries) > 1:
        yield _more(material, stretch, entries)
    if all(_way_is_clear(material, each) for each in entries):
        yield from _inverted(material, stretch, entries)


def _question(
    material: Material, kind: str, level: int, stretch: Stretch, entries: Sequence[Statement], hint: Sequence[str]
) -> Question:
    return Question(
        kind, level, stretch.name, (stretch.first, stretch.last), tuple(notes_of(entries)), material.heads(hint)
    )


def _apart(material: Material, entries: Sequence[Statement]) -> bool:
    """Whether no note counts as the beginning of two statements."""
    heads = [head for each in entries for head in material.beginning(each)]
    return len(heads) == len(set(heads))


def _tap_entries(material: Material, stretch: Stretch, entries: Sequence[Statement]) -> Puzzle:
    say = material.words.say
    level = 3 if stretch.section is None else 2
    return _question(material, "tap-entries", level, stretch, entries, entries[0].notes).ask(
        say("tap-entries.question", where=stretch.where),
        say("tap-entries.explanation", count=material.times(len(entries)), list=material.listed(entries)),
        tuple(each.notes[0] for each in entries),
        groups=[material.beginning(each) for each in entries],
    )


def _count_entries(material: Material, stretch: Stretch, entries: Sequence[Statement]) -> Puzzle:
    say = material.words.say
    level = 3 if stretch.section is None else 1
    hint = [note for each in entries for note in each.notes[:1]]
    return _question(material, "count-entries", level, stretch, entries, hint).ask(
        say("count-entries.question", where=stretch.where),
        say("count-entries.explanation", count=len(entries), list=material.listed(entries)),
        len(entries),
    )


def _leads(material: Material, stretch: Stretch, entries: Sequence[Statement]) -> Iterator[Puzzle]:
    first = entries[0]
    together = [each for each in entries if each.start.offset == first.start.offset]
    if len(together) > 1 or stretch.section is None:
        return
    say = material.words.say
    yield _question(material, "choose-leads", 1, stretch, [first], first.notes[:1]).ask(
        say("choose-leads.question", where=stretch.where),
        say("choose-leads.explanation", hand=material.hand(first.hand), place=material.place(first.start)),
        _HANDS.index(first.hand),
        choices=[material.hand(hand) for hand in _HANDS],
    )


def _more(material: Material, stretch: Stretch, entries: Sequence[Statement]) -> Puzzle:
    say = material.words.say
    right, left = (sum(each.hand == hand for each in entries) for hand in _HANDS)
    hint = [note for each in entries for note in each.notes[:1]]
    return _question(material, "choose-more", 2, stretch, entries, hint).ask(
        say("choose-more.question", where=stretch.where),
        say("choose-more.explanation", right=right, left=left),
        0 if right > left else 1 if left > right else 2,
        choices=[material.hand("right"), material.hand("left"), say("word.neither")],
    )


def _inverted(material: Material, stretch: Stretch, entries: Sequence[Statement]) -> Iterator[Puzzle]:
    say = material.words.say
    turned = [each for each in entries if each.form == "inverted"]
    subject = material.analysis.subject
    hint = subject.notes if subject is not None else ()
    listed = material.listed(turned)
    if len(entries) > 1:
        tail = say("count-inverted.listed", list=listed) if turned else say("count-inverted.none")
        yield _question(material, "count-inverted", 3, stretch, entries, hint).ask(
            say("count-inverted.question", where=stretch.where),
            say("count-inverted.explanation", count=len(turned), all=len(entries), list=tail),
            len(turned),
        )
    if turned and len(turned) < len(entries) and _apart(material, entries):
        yield _question(material, "tap-inverted", 3, stretch, turned, hint).ask(
            say("tap-inverted.question", where=stretch.where),
            say("tap-inverted.explanation", list=listed),
            tuple(each.notes[0] for each in turned),
            groups=[material.beginning(each) for each in turned],
        )


def _tap_shortened(material: Material, stretch: Stretch) -> Iterator[Puzzle]:
    """Ask for the one statement that lacks its tail, where all others are complete beyond doubt."""
    begun = material.begun(stretch)
    short = [each for each in begun if _lacks_tail(material, each)]
    if len(short) != 1:
        return
    others = [each for each in begun if each is not short[0]]
    clear = all(material.counts_once(each) and not each.varied_notes for each in others)
    if not others or not clear or not _apart(material, begun):
        return
    say = material.words.say
    hand, place = material.hand(short[0].hand), material.place(short[0].start)
    yield _question(material, "tap-shortened", 3, stretch, short, _subject_notes(material)).ask(
        say("tap-shortened.question", where=stretch.where),
        say("tap-shortened.explanation", hand=hand, place=place),
        (short[0].notes[0],),
        groups=[material.beginning(short[0])],
    )


def _of_statement(material: Material, statement: Statement) -> Iterator[Puzzle]:
    """Return puzzles about one statement; the first one shows the subject itself and is not asked about."""
    complete = material.counts_once(statement)
    if statement is material.analysis.statements[0] or not (complete or _lacks_tail(material, statement)):
        return
    first = material.piece.measure_at(statement.start.offset)
    last = material.piece.measure_at(statement.end.offset)
    asked = {"hand": material.hand(statement.hand), "place": material.place(statement.start)}
    say = material.words.say

    def question(kind: str, level: int) -> Question:
        rests_on = (*_subject_notes(material), *statement.notes)
        return Question(kind, level, statement.id, (first, last), rests_on, material.heads(statement.notes))

    if _way_is_clear(material, statement):
        form = say(f"word.{statement.form}")
        yield question("choose-direction", 1).ask(
            say("choose-direction.question", **asked),
            say("choose-direction.explanation", form=form, moves=say(f"choose-direction.moves_{statement.form}")),
            WAYS.index(statement.form),
            choices=[say(f"word.{way}") for way in WAYS],
        )
    if not statement.varied_notes and statement.extent != "extended":
        counts = {"notes": len(statement.notes), "subject": len(_subject_notes(material))}
        yield question("choose-extent", 2).ask(
            say("choose-extent.question", **asked),
            say("choose-extent.explanation", extent=say(f"word.{statement.extent}"), **counts),
            _EXTENTS.index(statement.extent),
            choices=[say(f"word.{extent}") for extent in _EXTENTS],
        )


def _answering(material: Material) -> Iterator[Puzzle]:
    """Who states the subject after its first statement; asked when both are sure and do not begin together."""
    ordered = sorted(material.analysis.statements, key=lambda each: each.start.offset)
    if len(ordered) < 3 or any(not material.counts_once(each) for each in ordered[:3]):
        return
    opening, answer, third = ordered[:3]
    if not opening.start.offset < answer.start.offset < third.start.offset:
        return
    say = material.words.say
    stretch = material.piece.measures[0], material.piece.measure_at(answer.end.offset)
    rests_on = (*opening.notes, *answer.notes)
    question = Question("choose-answers", 1, "opening", stretch, rests_on, material.heads(opening.notes))
    yield question.ask(
        say("choose-answers.question", hand=material.hand(opening.hand)),
        say("choose-answers.explanation", answer=material.hand(answer.hand), place=material.place(answer.start)),
        _HANDS.index(answer.hand),
        choices=[material.hand(hand) for hand in _HANDS],
    )


def _subject_notes(material: Material) -> tuple[str, ...]:
    subject = material.analysis.subject
    return () if subject is None else subject.notes


def _way_is_clear(material: Material, statement: Statement) -> bool:
    """Whether the direction of nearly every step says upright or inverted, as the analysis does."""
    if statement.form not in WAYS or statement.missing == "head":
        return False
    subject = signs(material.piece, _subject_notes(material))
    stated = signs(material.piece, statement.notes)
    moving = [(a, b) for a, b in zip(subject, stated, strict=False) if a]
    same = sum(a == b for a, b in moving)
    turned = sum(a == -b for a, b in moving)
    clear = same if statement.form == "upright" else turned
    return bool(moving) and clear >= _AGREE * len(moving)


def _lacks_tail(material: Material, statement: Statement) -> bool:
    """Whether a statement surely breaks off: it lacks its tail, by several notes, and nothing else differs."""
    lacking = len(_subject_notes(material)) - len(statement.notes)
    sure = statement.confidence >= SURE["statement"] and not statement.varied_notes
    return sure and statement.missing == "tail" and lacking >= _CLEARLY_SHORTER
