"""Puzzles about two sections of one kind, heard and seen side by side: same or different, and what changed.

A *fact* is something about the second section beside the first that holds, does not hold, or is not known
surely. A question about what changed offers one fact that holds among facts that surely do not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from counterpane.analysis.counting import section_sequence
from counterpane.analysis.puzzles_material import SURE, Material, Question, Stretch, notes_of
from counterpane.model.analysis import Direction, Puzzle, Statement
from counterpane.model.analysis import Sequence as SequenceFound

# In this order the most telling change is asked for.
FACTS = (
    "sequence_rises",
    "sequence_falls",
    "all_inverted",
    "all_upright",
    "hands_exchanged",
    "more",
    "fewer",
    "other_key",
    "longer",
    "shorter",
)
_ORDINALS = {2: "second", 3: "third", 4: "fourth", 5: "fifth"}


@dataclass(frozen=True)
class Profile:
    """What is surely known of one section; None where it is not known."""

    stretch: Stretch
    entries: tuple[Statement, ...] | None
    direction: Direction | None
    sequences_sure: bool
    form: str | None
    leader: str | None
    key: str | None

    @property
    def measures(self) -> int:
        """Length in measures."""
        return self.stretch.last.index - self.stretch.first.index + 1


def section_puzzles(material: Material) -> Iterator[Puzzle]:
    """Return the puzzles about two sections of one kind."""
    profiles = [profile for stretch in material.stretches if (profile := _profile(material, stretch)) is not None]

    def kind(profile: Profile) -> str:
        assert profile.stretch.section is not None
        return profile.stretch.section.kind

    for _, alike in groupby(sorted(profiles, key=kind), key=kind):
        for first, second in _pairs(list(alike)):
            facts = facts_between(first, second)
            yield from _change(material, first, second, facts)
            yield from _same(material, first, second, facts)
            yield from _count_more(material, first, second)


def _pairs(alike: list[Profile]) -> list[tuple[Profile, Profile]]:
    """Return each section with the next of its kind, and the first with the last: what a teacher compares."""
    pairs = list(pairwise(alike))
    return [*pairs, (alike[0], alike[-1])] if len(alike) > 2 else pairs


def _profile(material: Material, stretch: Stretch) -> Profile | None:
    section = stretch.section
    if section is None or section.confidence < SURE["section"]:
        return None
    entries = material.entries(stretch)
    sequences = material.sequences(stretch)
    marking = section_sequence(section, sequences) if sequences is not None else None
    return Profile(
        stretch=stretch,
        entries=entries,
        direction=None if marking is None else marking.direction,
        sequences_sure=sequences is not None,
        form=_form(entries) if entries else None,
        leader=_leader(entries) if entries and not material.piece.hands_guessed else None,
        key=material.key_of(stretch),
    )


def _form(entries: Sequence[Statement]) -> str:
    forms = {each.form for each in entries}
    return forms.pop() if len(forms) == 1 else "mixed"


def _leader(entries: Sequence[Statement]) -> str | None:
    at_start = [each.hand for each in entries if each.start.offset == entries[0].start.offset]
    return at_start[0] if len(at_start) == 1 else None


def facts_between(first: Profile, second: Profile) -> dict[str, bool | None]:
    """Return for each fact whether it holds of the second section; None where that is not surely known."""
    sequences = first.sequences_sure and second.sequences_sure
    turned = (first.direction, second.direction)
    leaders = None not in (first.leader, second.leader)
    forms = (first.form, second.form)
    gained = None if first.entries is None or second.entries is None else len(second.entries) - len(first.entries)
    keys = None not in (first.key, second.key)
    return {
        "sequence_rises": turned == ("falling", "rising") if sequences else None,
        "sequence_falls": turned == ("rising", "falling") if sequences else None,
        "all_inverted": forms == ("upright", "inverted") if None not in forms else None,
        "all_upright": forms == ("inverted", "upright") if None not in forms else None,
        "hands_exchanged": first.leader != second.leader if leaders else None,
        "more": None if gained is None else gained > 0,
        "fewer": None if gained is None else gained < 0,
        "other_key": first.key != second.key if keys else None,
        "longer": second.measures > first.measures,
        "shorter": second.measures < first.measures,
    }


def _named(material: Material, first: Profile, second: Profile) -> dict[str, str]:
    return {
        "first": first.stretch.name,
        "second": second.stretch.name,
        "first_measures": material.measures(first.stretch.first, first.stretch.last),
        "second_measures": material.measures(second.stretch.first, second.stretch.last),
    }


def _question(material: Material, kind: str, level: int, pair: Sequence[Profile]) -> Question:
    name = "-".join(profile.stretch.name for profile in pair)
    stretch = pair[0].stretch.first, pair[1].stretch.last
    measures = [(each.stretch.first.number, each.stretch.last.number) for each in pair]
    hint = material.heads(_hint(material, pair))
    return Question(kind, level, name, stretch, _evidence(material, pair), hint, measures)


def _found(material: Material, pair: Iterable[Profile]) -> tuple[list[Statement], list[SequenceFound]]:
    """Return the statements and the sequences of both sections."""
    sections = [profile.stretch.section for profile in pair if profile.stretch.section is not None]
    named = {name for section in sections for name in (*section.statements, *section.sequences)}
    return material.statements_named(named), material.sequences_named(named)


def _evidence(material: Material, pair: Iterable[Profile]) -> tuple[str, ...]:
    statements, sequences = _found(material, pair)
    return (*notes_of(statements), *notes_of(sequences))


def _hint(material: Material, pair: Iterable[Profile]) -> list[str]:
    """Return the first notes of the statements and of the copies in the sequences."""
    statements, sequences = _found(material, pair)
    return [*(each.notes[0] for each in statements), *(copy[0] for each in sequences for copy in each.copies)]


def _change(
    material: Material, first: Profile, second: Profile, facts: dict[str, bool | None]
) -> Iterator[Puzzle]:
    true = [fact for fact in FACTS if facts[fact]]
    false = [fact for fact in FACTS if facts[fact] is False]
    # That a section is longer is seen at a glance and says little by itself.
    if not true or true[0] in ("longer", "shorter") or len(false) < 3:
        return
    say = material.words.say
    assert second.stretch.section is not None
    time = second.stretch.section.time
    ordinal = say(f"word.{_ordinal(time)}", time=time)
    fact = true[0]
    right_at = sum(map(ord, first.stretch.name + second.stretch.name)) % 4
    choices = [*false[:right_at], fact, *false[right_at:3]]
    named = _named(material, first, second)
    yield _question(material, "choose-change", 3, (first, second)).ask(
        say("choose-change.question", **named, time=ordinal),
        say("choose-change.explanation", **named, fact=say(f"fact.{fact}")),
        right_at,
        choices=[say(f"fact.{each}") for each in choices],
    )


def _ordinal(time: int) -> str:
    return _ORDINALS.get(time, "later")


def _same(material: Material, first: Profile, second: Profile, facts: dict[str, bool | None]) -> Iterator[Puzzle]:
    true = [fact for fact in FACTS if facts[fact]]
    alike = all(value is False for value in facts.values()) and _detail(first) == _detail(second)
    if not true and not alike:
        return
    say = material.words.say
    if alike:
        explanation = say("choose-same.explanation_same")
    else:
        listed = "; ".join(say(f"fact.{fact}") for fact in true)
        explanation = say("choose-same.explanation_different", facts=listed)
    yield _question(material, "choose-same", 2, (first, second)).ask(
        say("choose-same.question", **_named(material, first, second)),
        explanation,
        0 if alike else 1,
        choices=[say("word.same"), say("word.different")],
    )


def _detail(profile: Profile) -> tuple[object, ...]:
    order = [(each.hand, each.form) for each in profile.entries or ()]
    return profile.key, profile.direction, tuple(order)


def _count_more(material: Material, first: Profile, second: Profile) -> Iterator[Puzzle]:
    if first.entries is None or second.entries is None:
        return
    more = len(second.entries) - len(first.entries)
    if more < 1:
        return
    say = material.words.say
    named = _named(material, first, second)
    counts = {"first_count": len(first.entries), "second_count": len(second.entries)}
    yield _question(material, "count-more", 3, (first, second)).ask(
        say("count-more.question", **named), say("count-more.explanation", **named, **counts), more
    )
