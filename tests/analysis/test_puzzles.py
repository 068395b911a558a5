"""Puzzles ask what the analysis surely answers, once, and nothing that could be answered in two ways."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from counterpane.analysis import analyse
from counterpane.analysis.puzzles import ABOUT_HANDS, KINDS, make_puzzles
from counterpane.errors import DrillError
from counterpane.model.analysis import Analysis, Puzzle
from counterpane.model.piece import Piece
from counterpane.score import read_score
from tests.analysis.compositions import compose, compose_without_subject
from tests.analysis.puzzle_checker import Checker

DEMO = Path(__file__).parents[2] / "demo" / "pieces"
PLAIN = ("plain", "inverted")
CHANGED = ("plain", "inverted", "tonal", "varied", "ornamented", "split", "octave", "last", "first")
SHORTENED = ("plain", "plain", "plain", "plain", "inverted", "inverted", "head")
MOST_OF_ONE_KIND = 90


@pytest.fixture(scope="module")
def patchwork() -> tuple[Piece, Analysis]:
    piece = read_score(DEMO / "patchwork-in-d-minor.musicxml").piece
    return piece, analyse(piece)


def wrong_ones(kinds: tuple[str, ...], seeds: range) -> tuple[Counter[str], list[str]]:
    """Check the puzzles of composed pieces; return how many of each kind were checked, and what was wrong."""
    counted: Counter[str] = Counter()
    wrong = []
    for seed in seeds:
        composition = compose(seed, kinds=kinds)
        analysis = analyse(composition.piece)
        if "head" in kinds and (analysis.subject is None or analysis.subject.notes != composition.subject.notes):
            continue  # what is complete depends on where the subject ends
        checker = Checker(composition, analysis)
        for puzzle in make_puzzles(composition.piece, analysis):
            if counted[puzzle.kind] < MOST_OF_ONE_KIND:
                counted[puzzle.kind] += 1
                fault = checker.wrong(puzzle)
                if fault:
                    wrong.append(f"piece {seed}, {puzzle.id}: {fault}")
    return counted, wrong


def test_no_puzzle_of_a_thousand_is_wrong_or_ambiguous() -> None:
    """Over a thousand puzzles of many kinds agree with what was composed and with the bare notes."""
    plain, wrong_plain = wrong_ones(PLAIN, range(32))
    changed, wrong_changed = wrong_ones(CHANGED, range(100, 118))
    assert wrong_plain + wrong_changed == []
    assert (plain + changed).total() >= 1000
    assert len(plain + changed) >= 15


def test_a_shortened_statement_is_found_among_complete_ones() -> None:
    """Where the subject breaks off, puzzles about complete and shortened statements are right too."""
    counted, wrong = wrong_ones(SHORTENED, range(200, 224))
    assert wrong == []
    assert counted["tap-shortened"] >= 1


def test_the_checker_notices_a_wrong_answer() -> None:
    """A changed answer, a missing place and a tap that counts twice are each called wrong."""
    composition = compose(3, kinds=PLAIN)
    checker = Checker(composition, analyse(composition.piece))
    by_kind = {puzzle.kind: puzzle for puzzle in make_puzzles(composition.piece, analyse(composition.piece))}
    count, tap = by_kind["count-entries"], by_kind["tap-entries"]
    assert isinstance(count.answer, int)
    assert isinstance(tap.answer, tuple)
    assert checker.wrong(count) == checker.wrong(tap) == ""
    assert checker.wrong(replace(count, answer=count.answer + 1))
    assert checker.wrong(replace(tap, answer=tap.answer[1:], groups=tap.groups[1:]))
    assert checker.wrong(replace(tap, groups=(tap.groups[0], tap.groups[0], *tap.groups[2:])))


def test_the_change_of_the_third_time_is_asked(patchwork: tuple[Piece, Analysis]) -> None:
    """In the demo piece the sequence falls twice and rises the third time: that is the answer."""
    puzzles = [each for each in make_puzzles(*patchwork) if each.kind == "choose-change"]
    third = [each for each in puzzles if each.id == "choose-change-B2-B3"]
    assert len(third) == 1
    assert "third" in third[0].question
    assert third[0].choices[
        int(third[0].answer[0] if isinstance(third[0].answer, tuple) else third[0].answer)
    ] == ("the sequence rises where it fell")
    assert "measures 18 to 19" in third[0].explanation
    assert third[0].side_by_side == ((10, 11), (18, 19))


def test_each_puzzle_can_be_answered_shown_and_explained(patchwork: tuple[Piece, Analysis]) -> None:
    """Ids are unique, the level is 1 to 3, notes exist, the answer is among the choices, and there is a hint."""
    piece, _ = patchwork
    puzzles = make_puzzles(*patchwork)
    heads = {head for note in piece.notes for head in (note.heads or (note.id,))}
    assert len({each.id for each in puzzles}) == len(puzzles)
    for puzzle in puzzles:
        assert puzzle.kind in KINDS
        assert 1 <= puzzle.level <= 3
        assert puzzle.hint
        assert set(puzzle.hint) <= heads
        assert puzzle.rests_on
        assert set(puzzle.rests_on) <= set(piece.by_id)
        assert puzzle.first_measure <= puzzle.last_measure
        assert "{" not in puzzle.question + puzzle.explanation + "".join(puzzle.choices)
        assert answer_fits(puzzle, heads)


def answer_fits(puzzle: Puzzle, heads: set[str]) -> bool:
    """Say whether an answer has the form that its kind promises."""
    if puzzle.kind.startswith("tap"):
        assert isinstance(puzzle.answer, tuple)
        return all(a in g and set(g) <= heads for a, g in zip(puzzle.answer, puzzle.groups, strict=True))
    assert isinstance(puzzle.answer, int)
    return puzzle.answer >= 0 and (puzzle.kind.startswith("count") or puzzle.answer < len(puzzle.choices))


def test_there_are_three_levels_and_more_than_ten_kinds(patchwork: tuple[Piece, Analysis]) -> None:
    """One piece alone gives puzzles for beginners and for advanced students."""
    puzzles = make_puzzles(*patchwork)
    assert {each.level for each in puzzles} == {1, 2, 3}
    assert len({each.kind for each in puzzles}) > 10


def test_puzzles_speak_german_with_the_same_answers(patchwork: tuple[Piece, Analysis]) -> None:
    """The language changes the words and nothing else."""
    english, german = make_puzzles(*patchwork), make_puzzles(*patchwork, language="de")
    assert [(each.id, each.answer, each.groups) for each in english] == [
        (each.id, each.answer, each.groups) for each in german
    ]
    assert all(a.question != b.question for a, b in zip(english, german, strict=True))


def test_a_language_without_wording_is_named() -> None:
    """An unknown language is one sentence with those that exist."""
    piece = compose(0).piece
    with pytest.raises(DrillError, match="'fr': choose one of en, de"):
        make_puzzles(piece, analyse(piece), language="fr")


@pytest.mark.parametrize("evidence", ["statements", "sequences", "cadences", "keys"])
def test_nothing_is_asked_that_the_analysis_is_unsure_of(patchwork: tuple[Piece, Analysis], evidence: str) -> None:
    """With no confidence in one kind of evidence, no puzzle about it is left."""
    piece, analysis = patchwork
    doubted: dict[str, Any] = {evidence: tuple(replace(e, confidence=0.1) for e in getattr(analysis, evidence))}
    kinds = {each.kind for each in make_puzzles(piece, replace(analysis, **doubted))}
    about = {
        "statements": {"tap-entries", "count-entries", "choose-direction", "choose-extent", "choose-leads"},
        "sequences": {"choose-sequence", "count-sequence", "choose-sequence-hands"},
        "cadences": {"tap-cadence", "choose-cadence"},
        "keys": {"choose-key"},
    }[evidence]
    assert about.isdisjoint(kinds)
    assert kinds, "the other evidence still gives puzzles"


def test_a_highest_note_that_comes_twice_is_not_asked_for() -> None:
    """Two equally high notes would be two right answers."""
    composition = compose(7, kinds=PLAIN)
    piece = composition.piece
    right = [note for note in piece.notes if note.hand == "right"]
    top = max(right, key=lambda note: note.midi)
    other = next(note for note in right if note.midi < top.midi)
    raised = replace(piece, notes=tuple(replace(n, pitch=top.pitch) if n is other else n for n in piece.notes))
    analysis = analyse(raised)
    asked = {each.id for each in make_puzzles(raised, analysis) if each.kind == "tap-highest"}
    assert "tap-highest-piece-right" not in asked


def test_nothing_is_asked_about_hands_that_were_guessed(patchwork: tuple[Piece, Analysis]) -> None:
    """Where the file did not say which hand plays, no answer may rest on it."""
    piece, analysis = patchwork
    kinds = {each.kind for each in make_puzzles(replace(piece, hands_guessed=True), analysis)}
    assert ABOUT_HANDS.isdisjoint(kinds)
    assert len(kinds) >= 10
    changes = [each for each in make_puzzles(replace(piece, hands_guessed=True), analysis) if each.choices]
    assert not any("the other hand begins" in each.choices for each in changes)


def test_a_piece_without_a_subject_has_puzzles_about_other_things() -> None:
    """Keys, cadences and highest notes can be asked of any piece; entries cannot."""
    piece = compose_without_subject(5)
    analysis = replace(analyse(piece), subject=None, statements=())
    kinds = {each.kind for each in make_puzzles(piece, analysis)}
    assert "tap-highest" in kinds
    assert not any("entries" in kind or kind == "choose-direction" for kind in kinds)
