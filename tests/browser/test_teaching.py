"""The teacher's way: students at a glance, a piece with its analysis, links, and the brief before a lesson."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from counterpane.studio import people
from counterpane.studio.brief import brief
from counterpane.studio.fingerings import fingering
from tests.browser.conftest import Open
from tests.browser.seeding import Seed
from tests.browser.serving import Server

PIECE = "patchwork-in-d-minor"
DESKTOP: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}, "is_mobile": False, "has_touch": False}
KERN = """\
**kern\t**kern
*clefF4\t*clefG2
*M4/4\t*M4/4
=1\t=1
4C\t4c
4D\t4d
4E\t4e
4F\t4f
=2\t=2
1C\t1c
==\t==
*-\t*-
"""


def test_students_are_seen_at_a_glance(come_in: Open, seed: Seed) -> None:
    """Everybody stands with this week's minutes, the last day of practice and the next lesson."""
    page = come_in("teacher", **DESKTOP)
    expect(page.locator(".studio-student")).to_have_count(len(seed.students))
    otter = page.locator(".studio-student", has_text="Otter")
    expect(otter).to_contain_text("last practised")
    expect(page.locator(".studio-student", has_text="Newt")).to_contain_text("has not practised yet")


def test_a_student_is_added(come_in: Open, server: Server) -> None:
    """A nickname is enough; the new student's own page opens."""
    page = come_in("teacher", **DESKTOP)
    page.get_by_text("Add a student").click()
    page.get_by_label("Nickname").fill("Magpie")
    page.get_by_label("Level").select_option("intermediate")
    page.get_by_role("button", name="Add the student").click()
    expect(page.get_by_role("heading", name="Magpie")).to_be_visible()


def test_a_piece_comes_in_by_its_file(come_in: Open, tmp_path: Path) -> None:
    """A score file is read and analysed, and its page opens with the engraved score."""
    file = tmp_path / "little-scale.krn"
    file.write_text(KERN)
    page = come_in("teacher", **DESKTOP)
    page.get_by_text("Bring in a piece").first.click()
    page.get_by_label(re.compile("^Score file")).set_input_files(file)
    page.get_by_role("button", name="Bring in a piece").click()
    page.wait_for_url("**/piece/*")
    expect(page.locator(".notation svg").first).to_be_visible()


def test_a_file_that_is_no_score_is_answered_in_one_sentence(come_in: Open, seed: Seed, tmp_path: Path) -> None:
    """The sentence says what is wrong; the studio is as it was."""
    file = tmp_path / "holiday.musicxml"
    file.write_text("This is a letter.")
    page = come_in("teacher", **DESKTOP)
    pieces = page.locator(".studio-piece")
    expect(pieces).to_have_count(len(seed.pieces))
    page.get_by_text("Bring in a piece").first.click()
    page.get_by_label(re.compile("^Score file")).set_input_files(file)
    page.get_by_role("button", name="Bring in a piece").click()
    expect(page.get_by_role("alert")).to_contain_text("holiday.musicxml")
    page.reload()
    expect(pieces).to_have_count(len(seed.pieces))


def test_statements_are_marked_on_the_score(come_in: Open, server: Server, seed: Seed) -> None:
    """Each statement has its number and its strokes: rising for upright, falling for inverted ones."""
    analysis = server.studio.library.work(seed.pieces[PIECE]).analysis
    page = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}", **DESKTOP)
    numbers = page.locator(".statement-number")
    expect(numbers).to_have_count(len(analysis.statements))
    inverted = {one.id for one in analysis.statements if one.form == "inverted"}
    falling = page.locator(".statement:has([fill='url(#score-strokes-fall)'])")
    drawn = set(falling.evaluate_all("all => all.map(one => one.dataset.statement)"))
    assert drawn == inverted


def test_the_count_table_holds_what_a_teacher_counts(come_in: Open, server: Server, seed: Seed) -> None:
    """Every cell of the analysis stands in the table, with its number of statements."""
    cells = server.studio.library.work(seed.pieces[PIECE]).analysis.count_table
    page = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}", **DESKTOP)
    table = page.locator(".count-table")
    for cell in cells:
        expect(table).to_contain_text(f"{cell.section}: {cell.statements} statement")


def test_a_statement_is_struck_out_and_brought_back(come_in: Open, server: Server, seed: Seed) -> None:
    """A correction changes the score at once, is listed, and can be taken back."""
    count = len(server.studio.library.work(seed.pieces[PIECE]).analysis.statements)
    page = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}", **DESKTOP)
    page.get_by_text(re.compile(r"^Statements \(")).click()
    page.get_by_role("button", name=re.compile("^Not a statement: 1")).first.click()
    expect(page.locator(".statement-number")).to_have_count(count - 1)
    page.get_by_role("button", name="Take back").click()
    expect(page.locator(".statement-number")).to_have_count(count)


def test_the_subject_is_marked_by_hand(come_in: Open, server: Server, seed: Seed) -> None:
    """Two taps on the score, on the first note and on the last, make the teacher's own subject."""
    piece = server.studio.library.work(seed.pieces[PIECE]).piece
    voice = [note for note in piece.notes if note.hand == "right"]
    page = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}", **DESKTOP)
    page.locator(".statement-bands rect").first.wait_for()
    page.get_by_role("button", name="Mark it by hand").click()
    for note in (voice[0], voice[6]):
        page.locator(f"[id='{note.id}'] .notehead").click()
    expect(page.get_by_text(re.compile("^Subject chosen: right hand, measure 1, beat 1"))).to_be_visible()
    subject = server.studio.library.work(seed.pieces[PIECE]).analysis.subject
    assert subject
    assert subject.notes == tuple(note.id for note in voice[:7])


def test_a_fingering_is_proposed_and_the_teacher_changes_a_finger(
    come_in: Open, server: Server, seed: Seed
) -> None:
    """On request every note has a finger, called a proposal; a tapped note gets the teacher's, which is kept."""
    piece = seed.pieces[PIECE]
    notes = server.studio.library.work(piece).piece.notes
    page = come_in("teacher", at=f"/piece/{piece}", **DESKTOP)
    page.locator(".notation svg").first.wait_for()
    expect(page.locator(".finger")).to_have_count(0)
    page.get_by_role("button", name="Propose a fingering").click()
    expect(page.locator(".finger")).to_have_count(len(notes))
    expect(page.get_by_text(re.compile("^A proposal"))).to_be_visible()
    expect(page.locator(".finger.is-own")).to_have_count(0)
    note = next(note for note in notes if note.hand == "right")
    proposed = fingering(server.studio, piece).fingers[note.id]
    wanted = proposed % 5 + 1
    page.locator(f"[id='{note.id}'] .notehead").click()
    page.get_by_role("button", name=f"Finger {wanted}").click()
    written = page.locator(f".finger.is-own[data-note='{note.id}']")
    expect(written).to_have_text(str(wanted))
    assert fingering(server.studio, piece).written == (note.id,)
    page.reload()
    page.get_by_role("button", name="Propose a fingering").click()
    expect(written).to_have_text(str(wanted))
    page.get_by_label(re.compile("^Note")).select_option(note.id)
    page.get_by_role("button", name="Leave it to the proposal").click()
    expect(page.locator(".finger.is-own")).to_have_count(0)
    assert fingering(server.studio, piece).written == ()


def test_fingers_stand_above_the_right_hand_and_below_the_left(come_in: Open, server: Server, seed: Seed) -> None:
    """As printed music has them (common practice, no source)."""
    piece = server.studio.library.work(seed.pieces[PIECE]).piece
    page = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}", **DESKTOP)
    page.get_by_role("button", name="Propose a fingering").click()
    page.locator(".finger").first.wait_for()
    for hand, side in (("right", -1), ("left", 1)):
        note = next(note for note in piece.notes if note.hand == hand)
        head = page.locator(f"[id='{note.id}'] .notehead").first.bounding_box()
        finger = page.locator(f".finger[data-note='{note.id}']").bounding_box()
        assert head
        assert finger
        assert (finger["y"] - head["y"]) * side > 0


def test_a_section_gets_another_name(come_in: Open, server: Server, seed: Seed) -> None:
    """The teacher's name for a section stands wherever the section does."""
    page = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}", **DESKTOP)
    page.get_by_text(re.compile(r"^Sections \(")).click()
    first = page.locator(".piece-section").first
    first.get_by_label("Name").fill("Opening")
    first.get_by_role("button", name="Save").click()
    expect(page.locator(".piece-section").first).to_contain_text("Opening")
    assert server.studio.library.work(seed.pieces[PIECE]).analysis.sections[0].label == "Opening"


def test_a_piece_of_three_hundred_measures(come_in: Open, tmp_path: Path) -> None:
    """A long piece opens; its score is engraved stretch by stretch as it is scrolled to, to the last measure."""
    pattern = ["4C\t4c", "4D\t4e", "4E\t4g", "4F\t4a"]
    body = [line for number in range(1, 301) for line in (f"={number}\t={number}", *pattern)]
    file = tmp_path / "long-walk.krn"
    head = KERN.splitlines()[:3]
    file.write_text("\n".join([*head, *body, "==\t==", "*-\t*-", ""]))
    page = come_in("teacher", **DESKTOP)
    page.context.set_default_timeout(60_000)
    page.get_by_text("Bring in a piece").first.click()
    page.get_by_label(re.compile("^Score file")).set_input_files(file)
    page.get_by_role("button", name="Bring in a piece").click()
    page.wait_for_url("**/piece/*")
    page.locator(".notation > svg").first.wait_for()
    stretches = page.locator(".score-stretch")
    drawn = page.locator(".score-stretch .notation > svg").count()
    assert drawn < stretches.count()
    for stretch in stretches.all():
        stretch.scroll_into_view_if_needed()
        stretch.locator(".notation > svg").first.wait_for()
    assert page.locator(".notation g.measure").count() == 300


def test_a_suggestion_is_edited(come_in: Open, server: Server, seed: Seed) -> None:
    """Suggestions are proposals: the teacher's own wording stands in their place."""
    page = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}", **DESKTOP)
    group = page.locator("details.piece-more", has=page.get_by_text(re.compile("^Grow")))
    group.locator("summary").click()
    first = group.locator("li").first
    first.get_by_role("button", name="Edit").click()
    first.get_by_label("Wording").fill("Grow here, but keep the left hand light.")
    first.get_by_role("button", name="Save").click()
    expect(first).to_contain_text("Grow here, but keep the left hand light.")


def test_the_teacher_sets_what_is_asked(come_in: Open, server: Server, seed: Seed) -> None:
    """Minutes, note and days without practice are kept."""
    otter, now = seed.students["Otter"], datetime.now().astimezone()
    rest_days = {*people.student_card(server.studio, otter, now).rest_days, 2}
    page = come_in("teacher", at=f"/student/{seed.students['Otter']}", **DESKTOP)
    page.get_by_label("Minutes a day").fill("25")
    page.get_by_label(re.compile("^What you ask this week")).fill("Left hand alone, every day.")
    page.get_by_label("Wednesday").check()
    page.get_by_role("button", name="Save").first.click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    card = people.student_card(server.studio, otter, now)
    assert (card.minutes, card.note, set(card.rest_days)) == (25, "Left hand alone, every day.", rest_days)


def test_a_piece_is_assigned_with_a_tempo(come_in: Open, server: Server, seed: Seed) -> None:
    """A ticked piece is assigned at its goal tempo; its sections can then be chosen."""
    page = come_in("teacher", at=f"/student/{seed.students['Newt']}", **DESKTOP)
    page.get_by_label("The Ferry Bell", exact=True).check()
    ferry = page.locator("fieldset.cloth", has_text="The Ferry Bell")
    ferry.get_by_label(re.compile("^Goal tempo")).fill("58")
    page.get_by_role("button", name="Assign").click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    assigned = {one.title: one.goal_tempo for one in people.assignments(server.studio, seed.students["Newt"])}
    assert assigned["The Ferry Bell"] == 58


def test_a_link_is_shown_once_with_its_square(come_in: Open, seed: Seed) -> None:
    """The new address stands there with a square for a camera; after a reload it is gone; it can be revoked."""
    page = come_in("teacher", at=f"/student/{seed.students['Newt']}", **DESKTOP)
    page.get_by_role("button", name="New link for the student").click()
    expect(page.locator(".fresh-link code")).to_contain_text("/sign-in#")
    expect(page.locator(".qr svg")).to_be_visible()
    page.reload()
    revoke = page.get_by_role("button", name=re.compile("^Revoke"))
    expect(revoke).to_have_count(3)
    expect(page.locator(".fresh-link")).to_have_count(0)
    revoke.first.click()
    expect(page.get_by_text("revoked")).to_have_count(1)


def test_a_family_takes_its_data_away_and_is_erased(come_in: Open, seed: Seed) -> None:
    """The export is one JSON file; erasing asks for the nickname again."""
    page = come_in("teacher", at=f"/student/{seed.students['Newt']}", **DESKTOP)
    with page.expect_download() as download:
        page.get_by_role("link", name=re.compile("^Take everything away")).click()
    assert json.loads(download.value.path().read_text())["student"]["nickname"] == "Newt"
    page.get_by_text("Erase the student").click()
    page.get_by_label("Nickname").fill("Otter")
    page.get_by_role("button", name="Erase for good").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.get_by_label("Nickname").fill("Newt")
    page.get_by_role("button", name="Erase for good").click()
    page.wait_for_url("**/studio")
    expect(page.locator(".studio-student", has_text="Newt")).to_have_count(0)


def test_the_brief_shows_weak_spots_with_evidence(come_in: Open, server: Server, seed: Seed) -> None:
    """Each weak spot stands with its measure, engraved, and on what it rests."""
    found = brief(server.studio, seed.students["Otter"], datetime.now().astimezone())
    page = come_in("teacher", at=f"/brief/{seed.students['Otter']}", **DESKTOP)
    expect(page.locator(".brief-spot")).to_have_count(len(found.weak_spots))
    for number, spot in enumerate(found.weak_spots):
        row = page.locator(".brief-spot").nth(number)
        expect(row).to_contain_text(spot.text)
        expect(row).to_contain_text(spot.evidence)
        expect(row.locator(".notation > svg")).to_be_visible()


@pytest.mark.parametrize(("address", "most"), [("/brief/{student}", 1), ("/sheet/{piece}", 2)])
def test_paper(address: str, most: int, come_in: Open, seed: Seed) -> None:
    """The brief prints on one A4 page, the analysis sheet of a 24-measure piece on two."""
    at = address.format(student=seed.students["Otter"], piece=seed.pieces[PIECE])
    page = come_in("teacher", at=at, **DESKTOP)
    page.locator(".notation svg").first.wait_for()
    printed = page.pdf(format="A4", prefer_css_page_size=True)
    assert 1 <= len(re.findall(rb"/Type\s*/Page[^s]", printed)) <= most
