"""A student's way: what to do today and why, the quilt, a puzzle answered on the score."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime

from playwright.sync_api import Locator, Page, expect

from counterpane.model.analysis import Puzzle
from counterpane.model.piece import Note
from counterpane.studio import decisions, puzzles
from counterpane.studio.pages.pieces import PuzzleCard
from counterpane.studio.today import today
from tests.browser.conftest import Open
from tests.browser.seeding import NOTE, Seed
from tests.browser.serving import Server

PIECE = "patchwork-in-d-minor"


def test_today_says_what_to_do_and_why(come_in: Open, server: Server, seed: Seed) -> None:
    """The first thing stands large with its reason and a way to begin; the rest of the day stands below."""
    plan = today(server.studio, seed.students["Otter"], datetime.now().astimezone().date())
    page = come_in("Otter")
    now = page.locator(".today-now")
    expect(now).to_contain_text(plan.items[0].title)
    expect(now).to_contain_text(plan.items[0].reason)
    name = re.compile(rf"^(Start|Open the puzzle) {re.escape(plan.items[0].title)}$")
    expect(now.get_by_role("link", name=name)).to_be_visible()
    expect(page.locator(".today-later")).to_have_count(len(plan.items) - 1)
    expect(page.get_by_text(NOTE)).to_be_visible()
    expect(page.locator(".tape figcaption")).to_contain_text("of 20 minutes")


def test_one_tap_leads_from_today_to_the_desk(come_in: Open, server: Server, seed: Seed) -> None:
    """What is to be played opens at the desk, at its own patch and step."""
    plan = today(server.studio, seed.students["Otter"], datetime.now().astimezone().date())
    item = next(item for item in plan.items if item.kind != "puzzle")
    page = come_in("Otter")
    page.locator(f"a[href^='/desk/{item.piece_id}/']").first.tap()
    page.wait_for_url(f"**/desk/{item.piece_id}/{item.patch_id}/{item.step_id}")
    expect(page.locator(".notation svg").first).to_be_visible()


def test_the_quilt_shows_the_whole_piece(come_in: Open, server: Server, seed: Seed) -> None:
    """Every section is a patch; each hand's state stands on it in words, and is said to a screen reader."""
    page = come_in("Otter", at="/quilt")
    page.wait_for_url(f"**/quilt/{seed.pieces[PIECE]}")
    sections = server.studio.library.work(seed.pieces[PIECE]).analysis.sections
    expect(page.locator(".block")).to_have_count(len(sections))
    first = page.locator(".block").first
    expect(first.locator(".sewn-label")).to_have_count(3)
    expect(first).to_have_attribute("aria-label", re.compile(r"right hand: .+, both hands: .+, left hand: .+"))


def test_a_patch_opens_and_closes(come_in: Open, seed: Seed) -> None:
    """A tap shows the patch with its seam and the way to the desk; Escape closes it and gives the focus back."""
    page = come_in("Otter", at=f"/quilt/{seed.pieces[PIECE]}")
    page.locator(".block").first.tap()
    dialog = page.get_by_role("dialog")
    expect(dialog.get_by_role("heading", name=re.compile("^Seam to section"))).to_be_visible()
    page.keyboard.press("Escape")
    expect(dialog).to_have_count(0)
    expect(page.locator(".block").first).to_be_focused()
    page.locator(".block").first.tap()
    dialog.get_by_role("link", name=re.compile("^To the desk")).first.tap()
    page.wait_for_url("**/desk/**")


def test_a_student_decides_how_a_section_sounds(come_in: Open, server: Server, seed: Seed) -> None:
    """The decision stands beside the invitation and its reason, and is kept."""
    page = come_in("Otter", at=f"/quilt/{seed.pieces[PIECE]}")
    page.locator(".block").first.tap()
    page.get_by_label("fade").check()
    page.get_by_label("joined").check()
    page.get_by_role("button", name="Keep my decision").tap()
    expect(page.get_by_text("Saved.")).to_be_visible()
    decided = decisions.decisions(server.studio, seed.students["Otter"], seed.pieces[PIECE]).decisions[0]
    assert (decided.shape, decided.touch, decided.by) == ("fade", "joined", "student")


def test_a_puzzle_is_answered_by_tapping_notes(come_in: Open, server: Server, seed: Seed) -> None:
    """The right notes are tapped on the score; the answer explains, shows the statements, and is kept."""
    puzzle = _puzzle(server, seed, "tap-")
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    assert isinstance(puzzle.answer, tuple)
    for note in puzzle.answer:
        _tap(page, note)
    page.get_by_role("button", name="That is my answer").tap()
    expect(page.get_by_role("heading", name="Yes, that is it.")).to_be_visible()
    expect(page.get_by_text(puzzle.explanation)).to_be_visible()
    expect(page.locator(".mark-right-answer")).to_have_count(len(puzzle.answer))
    page.wait_for_function("() => !document.querySelector('.notices .notice')")
    assert _card(server, seed, puzzle).answered is True


def test_a_wrong_answer_is_explained_too(come_in: Open, server: Server, seed: Seed) -> None:
    """A wrong note is crossed, the right ones are ringed; nothing is counted against anybody."""
    puzzle = _puzzle(server, seed, "tap-")
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    assert isinstance(puzzle.answer, tuple)
    allowed = {note for group in puzzle.groups for note in group} | set(puzzle.answer)
    page.locator("g.note").first.wait_for()
    shown: list[str] = page.locator("g.note").evaluate_all("notes => notes.map(note => note.id)")
    _tap(page, next(note for note in shown if note not in allowed))
    page.get_by_role("button", name="That is my answer").tap()
    expect(page.get_by_role("heading", name="Not quite.")).to_be_visible()
    expect(page.locator(".mark-wrong-answer")).to_have_count(1)
    expect(page.get_by_text(puzzle.explanation)).to_be_visible()


def test_a_hint_shows_before_it_tells(come_in: Open, server: Server, seed: Seed) -> None:
    """The hint is a dotted ring in the score, and says its place to a screen reader."""
    puzzle = _puzzle(server, seed, "tap-")
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    page.get_by_role("button", name="Show a hint").tap()
    expect(page.locator(".mark-shown")).to_have_count(len(puzzle.hint))
    expect(page.get_by_text(re.compile("^The hint is marked"))).to_contain_text(re.compile(r"measure \d+, beat"))


def test_notes_can_be_chosen_without_a_finger(come_in: Open, server: Server, seed: Seed) -> None:
    """The list of notes gives the same answer by keyboard, for those who do not see the score."""
    puzzle = _puzzle(server, seed, "tap-")
    assert isinstance(puzzle.answer, tuple)
    piece = server.studio.library.work(seed.pieces[PIECE]).piece
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    page.get_by_text("Choose notes from a list").press("Enter")
    within = [
        note
        for note in piece.notes
        if puzzle.first_measure <= piece.place(note.onset).measure <= puzzle.last_measure
    ]
    for answer in puzzle.answer:
        index = next(number for number, note in enumerate(within) if note.id == answer)
        page.locator(".note-list input").nth(index).press("Space")
    page.get_by_role("button", name="That is my answer").press("Enter")
    expect(page.get_by_role("heading", name="Yes, that is it.")).to_be_visible()


def test_a_number_is_counted_up(come_in: Open, server: Server, seed: Seed) -> None:
    """A number is answered with two large buttons, never with a keyboard."""
    puzzle = _puzzle(server, seed, "count-")
    assert isinstance(puzzle.answer, int)
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    for _ in range(puzzle.answer):
        page.get_by_role("button", name="One more").tap()
    page.get_by_role("button", name="That is my answer").tap()
    expect(page.get_by_role("heading", name="Yes, that is it.")).to_be_visible()


def test_a_choice_is_one_tap(come_in: Open, server: Server, seed: Seed) -> None:
    """Each choice is a button; the next puzzle is offered after the explanation."""
    puzzle = _puzzle(server, seed, "choose-")
    assert isinstance(puzzle.answer, int)
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    page.get_by_role("button", name=puzzle.choices[puzzle.answer], exact=True).tap()
    expect(page.get_by_role("heading", name="Yes, that is it.")).to_be_visible()
    page.get_by_role("link", name="Next puzzle").tap()
    page.wait_for_url(lambda url: "/puzzle/" in url and not url.endswith(puzzle.id))


def test_two_sections_are_compared_side_by_side(come_in: Open, server: Server, seed: Seed) -> None:
    """A puzzle about two sections shows both, each with its name, beside each other where there is room."""
    puzzle = _comparison(server, seed)
    tablet = {"width": 820, "height": 1180}
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}", viewport=tablet)
    scores = page.locator(".puzzle-scores figure")
    expect(scores).to_have_count(2)
    expect(scores.nth(0).locator(".notation > svg")).to_be_visible()
    left, right = (scores.nth(number).bounding_box() for number in (0, 1))
    assert left
    assert right
    assert left["x"] + left["width"] <= right["x"]


def test_two_sections_are_heard_one_after_the_other(come_in: Open, server: Server, seed: Seed) -> None:
    """Each section sounds from its own first note, shown on its own score; one falls silent for the other."""
    puzzle = _comparison(server, seed)
    piece = server.studio.library.work(seed.pieces[PIECE]).piece
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    for number, name in ((0, "First"), (1, "Second")):
        begins, ends = puzzle.side_by_side[number]
        inside = [note for note in piece.notes if begins <= piece.place(note.onset).measure <= ends]
        score = page.locator(".puzzle-scores figure").nth(number)
        score.locator(".notation > svg").wait_for()
        _note_what_sounds(score)
        page.get_by_role("button", name=f"Hear it: {name}").tap()
        expect(score.locator(".mark-now")).to_have_count(1)
        expect(page.locator(".mark-now")).to_have_count(1)
        assert page.evaluate("window.sounding[0]") in _first_of(inside)
        expect(page.get_by_role("button", name=re.compile("^Stop"))).to_have_count(1)
    page.get_by_role("button", name="Stop: Second").tap()
    expect(page.locator(".mark-now")).to_have_count(0)


def test_an_explained_answer_is_marked_and_heard(come_in: Open, server: Server, seed: Seed) -> None:
    """After the answer the score keeps its marks while it sounds."""
    puzzle = _puzzle(server, seed, "count-")
    page = come_in("Otter", at=f"/puzzle/{seed.pieces[PIECE]}/{puzzle.id}")
    page.get_by_role("button", name="That is my answer").tap()
    expect(page.get_by_text(puzzle.explanation)).to_be_visible()
    page.locator(".mark-right-answer").first.wait_for()
    marked = page.locator(".mark-right-answer").count()
    page.get_by_role("button", name=re.compile("^Hear it")).first.tap()
    expect(page.locator(".mark-now").first).to_be_visible()
    expect(page.locator(".mark-right-answer")).to_have_count(marked)


def _note_what_sounds(score: Locator) -> None:
    """Let the page write down the notes that are shown as sounding on a score, in their order."""
    score.evaluate(
        """(figure) => {
          window.sounding = [];
          window.watcher?.disconnect();
          window.watcher = new MutationObserver((changes) => changes.forEach(({ target }) => {
            if (target.classList.contains("mark-now")) window.sounding.push(target.id);
          }));
          window.watcher.observe(figure, { subtree: true, attributeFilter: ["class"] });
        }"""
    )


def _first_of(notes: Sequence[Note]) -> set[str]:
    first = min(note.onset for note in notes)
    return {note.id for note in notes if note.onset == first}


def _comparison(server: Server, seed: Seed) -> Puzzle:
    """Return the first puzzle that sets two sections side by side."""
    library = server.studio.library
    found = library.puzzles(library.work(seed.pieces[PIECE]), "en")
    return next(puzzle for puzzle in found if len(puzzle.side_by_side) == 2)


def _puzzle(server: Server, seed: Seed, kind: str) -> Puzzle:
    """Return the first puzzle of a kind."""
    library = server.studio.library
    found = library.puzzles(library.work(seed.pieces[PIECE]), "en")
    return next(puzzle for puzzle in found if puzzle.kind.startswith(kind))


def _card(server: Server, seed: Seed, puzzle: Puzzle) -> PuzzleCard:
    cards = puzzles.puzzles(server.studio, seed.students["Otter"], seed.pieces[PIECE], None)
    return next(card for card in cards if card.id == puzzle.id)


def _tap(page: Page, note: str) -> None:
    """Tap a note's head as a finger does: the bar of buttons below must not be over it."""
    head = page.locator(f"[id='{note}'] .notehead").first
    head.evaluate("head => head.scrollIntoView({ block: 'center' })")
    head.element_handle().wait_for_element_state("stable")
    box = head.bounding_box()
    assert box
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
