"""At the desk: a drill is played, heard and told; what can go wrong with a piano is said plainly."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import mido
import pytest
from click.testing import CliRunner
from playwright.sync_api import Page, expect

from counterpane.cli.assess import command as assess
from counterpane.studio import attempts, pairings
from counterpane.studio.brief import brief
from counterpane.studio.pages.practice import AttemptRecord
from counterpane.studio.people import Assigned, assign
from counterpane.studio.pieces import import_piece
from counterpane.studio.sign_in import asker_of, by_passphrase
from tests.browser.conftest import Open
from tests.browser.desk import PIECE, TEMPO, at_the_desk, hurry, right_hand
from tests.browser.piano import MISSING, PLUGGED_IN, REFUSED, keys, play
from tests.browser.seeding import PASSPHRASE, PIECES, Seed
from tests.browser.serving import Server


def newest(server: Server, seed: Seed) -> AttemptRecord:
    """Return the student's newest attempt as the teacher sees it."""
    (card,) = attempts.attempts(server.studio, seed.students["Otter"], seed.pieces[PIECE], "p1", 1)
    teacher = asker_of(server.studio, by_passphrase(server.studio, PASSPHRASE, _now()).token, _now())
    assert teacher is not None
    return attempts.attempt_record(server.studio, teacher, card.id)


def _now() -> datetime:
    return datetime.now().astimezone()


def test_a_drill_is_played_heard_and_told(come_in: Open, server: Server, seed: Seed, tmp_path: Path) -> None:
    """One wrong key is marked on the score and told with the next step.

    The command line, given the same key events, hears the same.
    """
    _, notes = right_hand(server, seed)
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    expect(page.locator(".mark-now")).to_have_count(1)
    play(page, keys(notes, TEMPO, moved={notes[6].id: 1}))
    finding = page.locator(".desk-finding").first
    expect(finding).to_contain_text(re.compile(r"measure 1", re.IGNORECASE))
    expect(page.get_by_role("button", name="Hear the difference").first).to_be_visible()
    expect(page.locator(".drawing svg").first).to_be_visible()

    record = newest(server, seed)
    marked = {note for found in record.page.findings[:3] for note in found.notes}
    assert notes[6].id in marked
    expect(page.locator(".mark-spot")).to_have_count(len(marked))
    assert record.page.assessment is not None
    assert record.page.assessment["events"][6] == pytest.approx(
        {"event": 6, "status": "replacement", "note": notes[6].id, "run": 0}
    )
    assert _heard_by_the_command(record, tmp_path)["events"] == record.page.assessment["events"]


def test_what_went_wrong_twice_is_in_the_log_and_in_the_brief(come_in: Open, server: Server, seed: Seed) -> None:
    """The parent sees that practice happened and on what; the teacher sees the measure and the hand."""
    piece = server.studio.library.work(seed.pieces["two-lanterns"]).piece
    page = come_in("Newt")
    page.context.add_init_script(PLUGGED_IN)
    page.goto(f"/desk/{seed.pieces['two-lanterns']}/p1/right-slow")
    hurry(page)
    last = int(re.findall(r"\d+", page.locator(".desk-head").inner_text())[-1])
    notes = [n for n in piece.notes if n.hand == "right" and piece.measure_at(n.onset).number <= last]
    for again in ("Play", "Again"):
        page.get_by_role("button", name=again, exact=True).tap()
        play(page, keys(notes, TEMPO, moved={notes[1].id: 1, notes[3].id: -1}))
        expect(page.locator(".desk-finding").first).to_contain_text("measure 1", ignore_case=True)

    parent = come_in("Newt's parent")
    expect(parent.locator("main")).to_contain_text("Two Lanterns")
    expect(parent.locator("main")).to_contain_text(f"1–{last}")
    teacher = come_in("teacher", at=f"/brief/{seed.students['Newt']}")
    expect(teacher.locator("main")).to_contain_text(re.compile(r"measure 1\b", re.IGNORECASE))
    spots = brief(server.studio, seed.students["Newt"], _now()).weak_spots
    assert (1, "right") in {(spot.measure, spot.hand) for spot in spots}


def _heard_by_the_command(record: AttemptRecord, folder: Path) -> dict[str, Any]:
    """Write the attempt's key events as a MIDI file, a tick a millisecond, and assess it by the command."""
    file = mido.MidiFile(type=0, ticks_per_beat=500)
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=500_000, time=0)])
    start = previous = round(record.raw_events[0][0])
    for time_ms, status, key, velocity in record.raw_events:
        message = mido.Message.from_bytes([status, key, velocity])
        track.append(message.copy(time=round(time_ms) - previous))
        previous = round(time_ms)
    assert previous > start
    file.tracks.append(track)
    file.save(folder / "attempt.mid")
    score = str(PIECES / f"{PIECE}.musicxml")
    asked = ["--measures", "1-2", "--hands", "right", "--tempo", str(TEMPO), "--json"]
    ran = CliRunner().invoke(assess, [score, str(folder / "attempt.mid"), *asked])
    assert ran.exit_code == 0, ran.output
    report: dict[str, Any] = json.loads(ran.stdout)
    return report


def test_six_taps_lead_from_the_link_to_the_first_finding(come_in: Open, server: Server, seed: Seed) -> None:
    """Read the cautions, start, play: what is told comes without a further tap."""
    page = come_in("nobody")
    page.context.add_init_script(PLUGGED_IN)
    taps = 0
    page.goto(f"/sign-in#{seed.tokens['Newt']}")
    page.locator(".care-read").tap()
    taps += 1
    piece = server.studio.library.work(seed.pieces["two-lanterns"]).piece
    page.locator(".today-now a").first.tap()
    taps += 1
    page.wait_for_url(re.compile("/(puzzle|desk)/"))
    if "/puzzle/" in page.url:
        page.goto(f"/desk/{seed.pieces['two-lanterns']}/p1/right-slow")
    page.get_by_role("button", name=re.compile("^(Play|Hear it)$")).first.tap()
    taps += 1
    if "Play" not in page.locator(".desk-controls").inner_text():
        right = [n for n in piece.notes if n.hand == "right" and piece.measure_at(n.onset).number <= 2]
        play(page, keys(right, TEMPO))
    expect(page.locator(".desk-result")).to_be_visible(timeout=60_000)
    assert taps <= 6


def test_a_try_without_a_piano_is_judged_in_three_taps(come_in: Open, server: Server, seed: Seed) -> None:
    """The metronome keeps time, the student answers three questions, and the log says that nobody listened."""
    page = at_the_desk(come_in("Otter"), seed, MISSING)
    expect(page.get_by_text("This browser cannot hear a keyboard.")).to_be_visible()
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    for answer in ("All of them", "Nearly", "Without a stop"):
        page.get_by_role("button", name=answer, exact=True).tap()
    expect(page.locator(".desk-next")).to_be_visible()
    assert newest(server, seed).page.attempt.source == "self-judged"


def test_a_piano_unplugged_in_the_middle_loses_nothing(come_in: Open, server: Server, seed: Seed) -> None:
    """It is said at once; what was played counts, and playing goes on when the cable is back."""
    _, notes = right_hand(server, seed)
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    play(page, keys(notes[:8], TEMPO))
    page.evaluate("window.piano.unplug()")
    expect(page.get_by_text("The keyboard was unplugged.")).to_be_visible()
    page.evaluate("window.piano.plug()")
    play(page, keys(notes[8:], TEMPO))
    expect(page.locator(".desk-next")).to_be_visible()
    record = newest(server, seed)
    assert sum(status & 0xF0 == 0x90 for _, status, _, _ in record.raw_events) == len(notes)


@pytest.mark.parametrize(
    ("midi", "sentence"),
    [
        (REFUSED, "This page may not hear the keyboard."),
        (MISSING, "This browser cannot hear a keyboard."),
        (PLUGGED_IN + "window.piano.unplug();", "No keyboard is plugged in."),
    ],
)
def test_why_nothing_listens_is_one_sentence_with_a_way_out(
    midi: str, sentence: str, come_in: Open, seed: Seed
) -> None:
    """Refused, missing or unplugged: each says what to do instead."""
    page = at_the_desk(come_in("Otter"), seed, midi)
    if midi != MISSING:
        page.get_by_role("button", name="Listen to my keyboard").tap()
    expect(page.get_by_text(sentence)).to_be_visible()


def test_the_browser_asks_for_the_keyboard_at_a_tap_only(come_in: Open, seed: Seed) -> None:
    """Nobody is asked for a permission before pressing anything."""
    counted = PLUGGED_IN + (
        "const ask = navigator.requestMIDIAccess; window.asked = 0;"
        "navigator.requestMIDIAccess = () => { window.asked++; return ask(); };"
    )
    page = at_the_desk(come_in("Otter"), seed, counted)
    expect(page.get_by_role("button", name="Listen to my keyboard")).to_be_visible()
    assert page.evaluate("window.asked") == 0
    page.get_by_role("button", name="Listen to my keyboard").tap()
    expect(page.get_by_text("The keyboard is heard.")).to_be_visible()
    assert page.evaluate("window.asked") == 1


def test_a_computer_at_the_piano_is_paired_by_a_code(come_in: Open, server: Server, seed: Seed) -> None:
    """The page shows what to type; keys that the computer sends are heard as if the piano were here."""
    _, notes = right_hand(server, seed)
    page = at_the_desk(come_in("Otter"), seed, MISSING)
    page.get_by_role("button", name="Pair a computer").tap()
    shown = page.locator(".desk-code").inner_text()
    code = shown.rsplit(" ", 1)[-1].strip()
    now = _now()
    secret = pairings.claim(server.studio, code, now)
    expect(page.get_by_text("The computer at the piano is heard.")).to_be_visible()
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    expect(page.get_by_text("Listening")).to_be_visible()
    pairings.send(server.studio, code, secret, tuple(keys(notes, TEMPO)))
    expect(page.locator(".desk-next")).to_be_visible()
    assert newest(server, seed).page.attempt.source == "paired"


def test_a_try_without_network_is_kept_and_arrives_once(come_in: Open, server: Server, seed: Seed) -> None:
    """Played with no studio in reach: kept, said, and sent when the studio is back."""
    _, notes = right_hand(server, seed)
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    before = newest(server, seed).page.attempt.id
    server.stop()
    page.get_by_role("button", name="Play", exact=True).tap()
    play(page, keys(notes, TEMPO))
    expect(page.get_by_text("Kept on this device").first).to_be_visible()
    server.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_function("() => !document.querySelector('.notices .notice')", timeout=60_000)
    assert newest(server, seed).page.attempt.id == before + 1


def test_a_transposed_piano_is_asked_about_once(come_in: Open, server: Server, seed: Seed) -> None:
    """Every key a whole tone up, and meant so: from then on the page follows that piano and says no more of it.

    What is stored is what the piano sent, and the settings take the answer back.
    """
    _, notes = right_hand(server, seed)
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    play(page, keys(notes, TEMPO, by=2))
    expect(page.get_by_text("Everything you play sounds 2 semitones higher")).to_be_visible()
    page.get_by_role("button", name="Yes, it is").tap()
    expect(page.get_by_text("The page remembers that for this piano.")).to_be_visible()

    page.reload()
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    play(page, keys(notes[:12], TEMPO, by=2))
    expect(page.locator(".mark-played")).to_have_count(12)
    expect(page.locator(".mark-now")).to_have_id(notes[12].id)
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator(".desk-next")).to_be_visible()
    expect(page.locator("main")).not_to_contain_text("semitone")
    record = newest(server, seed)
    struck = [key for _, status, key, _ in record.raw_events if status & 0xF0 == 0x90]
    assert struck == [note.midi + 2 for note in notes[:12]]
    assert record.page.assessment is not None
    assert {event["status"] for event in record.page.assessment["events"]} == {"as_written"}

    page.reload()
    page.get_by_role("button", name="Listen to my keyboard").tap()
    page.get_by_text("More settings").tap()
    kept = page.get_by_text("This piano is set 2 semitones higher")
    expect(kept).to_be_visible()
    page.get_by_role("button", name="Not any more").tap()
    expect(kept).to_have_count(0)


def test_a_transposed_piano_that_is_not_meant_is_not_asked_about_again(
    come_in: Open, server: Server, seed: Seed
) -> None:
    """No: the page says where to look, and lets the student be."""
    _, notes = right_hand(server, seed)
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    play(page, keys(notes, TEMPO, by=-1))
    expect(page.get_by_text("Everything you play sounds 1 semitone lower")).to_be_visible()
    page.get_by_role("button", name="No", exact=True).tap()
    expect(page.get_by_text("Then look where your hands lie")).to_be_visible()
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator(".desk-finding").first).to_contain_text("a semitone lower")
    page.get_by_role("button", name="Again", exact=True).tap()
    play(page, keys(notes, TEMPO, by=-1))
    page.get_by_role("button", name="Stop").tap()
    expect(page.locator(".desk-next")).to_be_visible()
    expect(page.get_by_role("button", name="Yes, it is")).to_have_count(0)


def test_a_split_keyboard_is_noticed(come_in: Open, server: Server, seed: Seed) -> None:
    """The left hand an octave lower than written: the page says which hand, and what to look for."""
    piece = server.studio.library.work(seed.pieces[PIECE]).piece
    notes = [note for note in piece.notes if piece.measure_at(note.onset).number <= 2]
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN, step="together-slow")
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    left = {note.id: -12 for note in notes if note.hand == "left"}
    play(page, keys(notes, TEMPO, moved=left))
    expect(page.get_by_text("Your left hand sounds an octave away")).to_be_visible()


# The times at which the clicks are heard, by the two clocks of the W3C's Web Audio API (getOutputTimestamp).
CLICKS_ANSWERED = """() => {
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (at) {
    const stamp = this.context.getOutputTimestamp();
    const heard = stamp.performanceTime + (at - stamp.contextTime) * 1000;
    const key = heard + window.delays.shift();
    setTimeout(() => window.piano.send([0x90, 60, 70], key), Math.max(0, key - performance.now()));
    return start.call(this, at);
  };
}"""


def test_the_latency_of_the_loop_is_measured(come_in: Open, seed: Seed) -> None:
    """A piano that answers every click 120 ms late is measured so within 5 ms; the figure stays until cleared.

    Keys anywhere between the clicks measure nothing.
    """
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    page.get_by_role("button", name="Listen to my keyboard").tap()
    page.get_by_text("More settings").tap()
    page.evaluate("window.delays = [0, 0, 120, 118, 122, 119, 121, 300, 120, 120]")
    page.evaluate(CLICKS_ANSWERED)
    page.get_by_role("button", name="Measure it").tap()
    expect(page.get_by_text("keys heard")).to_be_visible()
    expect(page.get_by_role("button", name="Measure again")).to_be_visible(timeout=20_000)
    assert abs(_measured(page) - 120) <= 5

    page.evaluate("window.delays = [0, 0, -200, 300, 20, 410, -150, 240, 130, -60]")
    page.get_by_role("button", name="Measure again").tap()
    expect(page.get_by_text("did not fit together well enough")).to_be_visible(timeout=20_000)
    page.reload()
    page.get_by_role("button", name="Listen to my keyboard").tap()
    page.get_by_text("More settings").tap()
    assert abs(_measured(page) - 120) <= 5
    page.get_by_role("button", name="Forget it").tap()
    expect(page.get_by_role("button", name="Measure it")).to_be_visible()


def _measured(page: Page) -> int:
    return int(re.findall(r"-?\d+", page.get_by_text("Measured:").inner_text())[0])


def test_early_and_late_are_told_against_the_metronome(come_in: Open, server: Server, seed: Seed) -> None:
    """The same keys are behind the clicks on a quick device, and with them on one that answers 100 ms late."""
    _, notes = right_hand(server, seed)
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    for latency, sentence in ((0, "behind the metronome"), (100, "together with the metronome")):
        page.evaluate("ms => localStorage.setItem('counterpane.latency', ms)", str(latency))
        page.reload()
        hurry(page)
        page.get_by_label("Metronome").check()
        page.evaluate(FIRST_CLICK)
        page.get_by_role("button", name="Play", exact=True).tap()
        page.wait_for_function("() => window.heardAt?.() > 0")
        page.evaluate(
            "events => events.forEach(([at, ...bytes]) => {"
            " const due = window.heardAt() + 100 + at;"
            " setTimeout(() => window.piano.send(bytes, due), Math.max(0, due - performance.now())); })",
            [list(event) for event in keys(notes, TEMPO)],
        )
        expect(page.get_by_text(sentence)).to_be_visible()


# When the first click is heard, once the browser can say so; NaN before.
FIRST_CLICK = """() => {
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (at) {
    window.heardAt ??= () => {
      const { contextTime, performanceTime } = this.context.getOutputTimestamp();
      return contextTime > 0 ? performanceTime + (at - contextTime) * 1000 : NaN;
    };
    return start.call(this, at);
  };
}"""


def test_the_tempo_of_the_piece_is_not_printed_over_a_drill(come_in: Open, seed: Seed) -> None:
    """A drill at 70 % of the goal shows its own tempo below the notes, and no other above them."""
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    expect(page.locator(".notation .tempo").first).to_be_hidden()
    expect(page.locator(".desk-tempo")).to_be_visible()
    teacher = come_in("teacher", at=f"/piece/{seed.pieces[PIECE]}")
    expect(teacher.locator(".notation .tempo").first).to_be_visible()


def test_play_pressed_twice_is_one_try(come_in: Open, server: Server, seed: Seed) -> None:
    """A hasty finger while the browser is still asked for the keyboard: one try, and one attempt arrives."""
    _, notes = right_hand(server, seed)
    before = newest(server, seed).page.attempt.id
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).evaluate("button => { button.click(); button.click(); }")
    play(page, keys(notes, TEMPO))
    expect(page.locator(".desk-next")).to_be_visible()
    page.wait_for_timeout(1_000)
    assert newest(server, seed).page.attempt.id == before + 1


def test_nothing_played_is_no_attempt(come_in: Open, server: Server, seed: Seed) -> None:
    """Stopped before the first key: nothing is logged, and the page says what to look at."""
    before = newest(server, seed).page.attempt.id
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    page.get_by_role("button", name="Play", exact=True).tap()
    expect(page.get_by_text("Listening")).to_be_visible()
    page.get_by_role("button", name="Stop").tap()
    expect(page.get_by_text("No key was heard.")).to_be_visible()
    assert newest(server, seed).page.attempt.id == before


def test_a_clock_that_jumps_is_told(come_in: Open, seed: Seed) -> None:
    """The device slept for five seconds of the passage: what was missed is left out, and the page says so."""
    jumping = PLUGGED_IN + (
        "const time = Object.getOwnPropertyDescriptor(BaseAudioContext.prototype, 'currentTime').get;"
        "window.slept = 0;"
        "Object.defineProperty(BaseAudioContext.prototype, 'currentTime',"
        " { get() { return time.call(this) + window.slept; } });"
    )
    page = at_the_desk(come_in("Otter"), seed, jumping)
    page.get_by_role("button", name="Hear it").tap()
    expect(page.locator(".mark-now").first).to_be_visible()
    page.evaluate("window.slept = 5")
    expect(page.get_by_text("This device stopped the sound for a moment")).to_be_visible()


def test_hear_it_shows_what_sounds(come_in: Open, seed: Seed) -> None:
    """The passage is played and shown on the score, and stops by itself."""
    page = at_the_desk(come_in("Otter"), seed, PLUGGED_IN)
    hurry(page)
    page.get_by_role("button", name="Hear it").tap()
    expect(page.locator(".mark-now").first).to_be_visible()
    expect(page.get_by_role("button", name="Play", exact=True)).to_be_visible(timeout=15_000)


def test_a_long_piece_is_as_quick_to_open(come_in: Open, server: Server, seed: Seed, tmp_path: Path) -> None:
    """Three hundred measures: the desk shows the patch and nothing else."""
    kern = "**kern\t**kern\n*clefF4\t*clefG2\n*M2/4\t*M2/4\n"
    for number in range(1, 301):
        kern += f"={number}\t={number}\n4C\t8cc\n.\t8ee\n4G\t8gg\n.\t8ee\n"
    kern += "==\t==\n*-\t*-\n"
    piece = import_piece(server.studio, kern.encode(), "long.krn", _now())
    assert piece.measures == 300
    assign(server.studio, None, seed.students["Otter"], (Assigned(piece.id),), _now())
    page = come_in("Otter")
    page.context.add_init_script(PLUGGED_IN)
    page.goto(f"/desk/{piece.id}/p1/right-slow")
    page.locator(".notation svg").first.wait_for()
    assert page.locator("g.note").count() < 300
