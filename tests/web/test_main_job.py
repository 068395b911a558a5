"""The whole way over HTTP: a piece comes in, a student plays, parent and teacher read it."""

from __future__ import annotations

from typing import Any

from counterpane.model.practice import Patch
from counterpane.studio.house import Studio
from tests.studio.playing import played
from tests.web.conftest import FILES, PIECES, Clock, People, Seed


def first_patch(studio: Studio, piece_id: int) -> Patch:
    return studio.library.patches(studio.library.work(piece_id), "early", None, "en")[0]


def attempt(studio: Studio, seed: Seed, client_id: str, **changes: Any) -> dict[str, Any]:
    """Return the body of an attempt at the first patch of the short piece, right hand, without a fault."""
    patch = first_patch(studio, seed.short)
    first, last = patch.first_measure, patch.last_measure
    piece = studio.library.work(seed.short).piece
    return {
        "client_id": client_id,
        "piece_id": seed.short,
        "patch_id": patch.id,
        "step_id": "right-slow",
        "passage": {"first_measure": first, "last_measure": last, "hands": "right", "tempo": 46.0},
        "started_at": "2026-03-02T17:00:00+01:00",
        "source": "web-midi",
        "raw_events": [list(event) for event in played(piece, first, last, "right", 46.0)],
        "app_version": "test",
    } | changes


def test_today_says_what_to_do_and_why(persons: People, seed: Seed) -> None:
    """A new piece begins with a puzzle on its first patch and then with hearing it; each item has a reason."""
    today = persons.student().get("/today?date=2026-03-02").get_json()
    assert [item["kind"] for item in today["items"]] == ["puzzle", "new"]
    assert {item["piece_id"] for item in today["items"]} == {seed.short}
    assert all(item["reason"].endswith(".") for item in today["items"])
    assert today["items"][0]["puzzle_id"]
    assert len(today["care"]) == 4
    assert sum(item["minutes"] for item in today["items"]) <= today["minutes"]


def test_a_played_attempt_is_heard_kept_and_shown(persons: People, seed: Seed, studio: Studio) -> None:
    """What a student plays stands in the parent's log and the teacher's list with the same findings."""
    student = persons.student()
    body = attempt(studio, seed, "attempt-0001")
    answer = student.post("/attempts", body)
    assert answer.status_code == 201, answer.text
    page = answer.get_json()
    assert page["attempt"]["accuracy"] == 1.0
    assert page["attempt"]["met_goals"] is True
    assert page["assessment"]["measures"]["accuracy"]["value"] == 1.0
    assert 1 <= len(page["findings"]) <= 3
    assert page["next"]["patch_id"] == "p1"
    assert "1 of 3" in page["next"]["sentence"] or "listen" in page["next"]["step_id"]

    log = persons.parent().get(f"/students/{seed.robin}/log?weeks=1").get_json()
    day = log["weeks"][0]["days"][0]
    assert (day["date"], day["patches"][0]["attempts"], day["patches"][0]["met_goals"]) == ("2026-03-02", 1, 1)
    teacher = persons.teacher()
    listed = teacher.get(f"/pieces/{seed.short}/attempts?student={seed.robin}").get_json()
    assert [one["id"] for one in listed] == [page["attempt"]["id"]]
    heard = teacher.get(f"/attempts/{page['attempt']['id']}").get_json()
    assert heard["raw_events"] == [list(event) for event in body["raw_events"]]
    assert heard["page"]["assessment"]["findings"] == page["assessment"]["findings"]
    patch = student.get(f"/pieces/{seed.short}/quilt").get_json()["sections"][0]["patches"][0]
    assert (patch["right"], patch["left"], patch["both"], patch["attempts"]) == ("in work", "new", "new", 1)


def test_a_mistake_is_found_where_it_was_made(persons: People, seed: Seed, studio: Studio) -> None:
    """Three tries with the same wrong note: the finding names the measure, and the brief shows the weak spot."""
    piece = studio.library.work(seed.short).piece
    target = next(note for note in piece.notes if note.hand == "right" and note.onset > 4)
    student = persons.student()
    for number in range(3):
        body = attempt(studio, seed, f"attempt-000{number}", started_at=f"2026-03-02T17:0{number}:00+01:00")
        patch = first_patch(studio, seed.short)
        body["raw_events"] = played(
            piece, patch.first_measure, patch.last_measure, "right", 46.0, wrong=[target.id]
        )
        page = student.post("/attempts", body).get_json()
    measure = piece.place(target.onset).measure
    assert page["assessment"]["measures"]["accuracy"]["value"] < 1.0
    assert page["findings"][0]["place"]["measure"] == measure
    brief = persons.teacher().get(f"/students/{seed.robin}/brief").get_json()
    spot = brief["weak_spots"][0]
    assert (spot["measure"], spot["hand"]) == (measure, "right")
    assert spot["svg"].startswith("<svg")
    assert spot["text"]
    assert spot["evidence"]
    assert brief["proposed_order"]


def test_sending_twice_keeps_once(persons: People, seed: Seed, studio: Studio) -> None:
    """An attempt that waited offline may be sent again: the answer is the same and nothing is added."""
    student = persons.student()
    body = attempt(studio, seed, "attempt-0001")
    first, again = student.post("/attempts", body), student.post("/attempts", body)
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.get_json() | {"repeated": False} == first.get_json()
    assert len(student.get(f"/pieces/{seed.short}/attempts").get_json()) == 1


def test_without_an_instrument_the_student_judges(persons: People, seed: Seed, studio: Studio) -> None:
    """Three taps instead of key events: kept, counted, and marked as self-judged in the log."""
    judged = {"notes": 3, "rhythm": 3, "flow": 2}
    body = attempt(
        studio, seed, "attempt-0001", source="self-judged", raw_events=[], self_judgement=judged, seconds=60
    )
    page = persons.student().post("/attempts", body).get_json()
    assert page["assessment"] is None
    assert page["attempt"]["met_goals"] is True
    log = persons.parent().get(f"/students/{seed.robin}/log").get_json()
    assert log["weeks"][0]["days"][0]["self_judged_minutes"] == 1.0
    assert log["weeks"][0]["days"][0]["patches"][0]["self_judged"] == 1


def test_an_answered_puzzle_opens_its_section(persons: People, seed: Seed) -> None:
    """The puzzle of the day, once answered, is not asked again today, and the teacher sees how it went."""
    student = persons.student()
    item = student.get("/today?date=2026-03-02").get_json()["items"][0]
    puzzle = next(
        one for one in student.get(f"/pieces/{seed.short}/puzzles").get_json() if one["id"] == item["puzzle_id"]
    )
    answer = [group[0] for group in puzzle["groups"]] if puzzle["kind"].startswith("tap") else puzzle["answer"]
    body = {"client_id": "answer-0001", "piece_id": seed.short, "puzzle_id": puzzle["id"], "answer": answer}
    outcome = student.post(
        "/puzzle-answers", body | {"patch_id": item["patch_id"], "milliseconds": 9000}
    ).get_json()
    assert outcome["right"] is True
    assert outcome["explanation"]
    kinds = [item["kind"] for item in student.get("/today?date=2026-03-02").get_json()["items"]]
    assert "puzzle" not in kinds
    brief = persons.teacher().get(f"/students/{seed.robin}/brief").get_json()
    assert brief["puzzles"] == [{"kind": puzzle["kind"], "right": 1, "tried": 1}]


def test_the_teacher_brings_in_a_piece_and_assigns_it(persons: People, seed: Seed, clock: Clock) -> None:
    """A new student gets a piece and a link; the link opens Today with that piece."""
    teacher = persons.teacher()
    file = PIECES / f"{FILES['short']}.musicxml"
    data = file.read_bytes().replace(b"Two Lanterns", b"Three Lanterns")
    added = teacher.client.post(
        "/api/pieces?name=three.musicxml",
        data=data,
        headers={"X-Csrf": teacher.session["csrf"]},
        content_type="application/octet-stream",
    )
    assert added.status_code == 201, added.text
    piece = added.get_json()
    student = teacher.post("/students", {"nickname": "Sam", "minutes": 15, "rest_days": [6]}).get_json()
    assigned = teacher.put(f"/students/{student['id']}/assignments", [{"piece_id": piece["id"], "goal_tempo": 80}])
    assert assigned.get_json()[0]["goal_tempo"] == 80
    link = teacher.post(f"/students/{student['id']}/links", {"role": "student"}).get_json()
    assert link["qr_svg"].startswith("<svg")
    sam = persons.stranger().sign_in("link", token=link["url"].partition("#")[2])
    assert {item["piece_id"] for item in sam.get("/today").get_json()["items"]} == {piece["id"]}
    assert [one["id"] for one in sam.get("/pieces").get_json()] == [piece["id"]]


def test_the_desk_gets_everything_it_plays_from(persons: People, seed: Seed, studio: Studio) -> None:
    """Notes, measures and heads of the patch are those of the analysis and of the engraving."""
    student = persons.student()
    drill = student.get(f"/pieces/{seed.short}/drills/p1").get_json()
    first, last = drill["patch"]["first_measure"], drill["patch"]["last_measure"]
    engraving = student.get(f"/pieces/{seed.short}/engraving?first={first}&last={last}&width=390").get_json()
    assert [one["number"] for one in drill["measures"]] == list(range(first, last + 1))
    assert [one["id"] for one in drill["measures"]] == engraving["measures"]
    assert drill["notes"]
    assert all(f'id="{head}"' in engraving["svgs"][0] for note in drill["notes"] for head in note["heads"])
    assert drill["current_step_id"] == drill["ladder"]["steps"][0]["id"]
    assert len(drill["progress"]) == len(drill["ladder"]["steps"])


def test_engraved_notation_carries_no_inline_style(persons: People, seed: Seed) -> None:
    """The page's content security policy allows none; without the embedded font a line is small."""
    engraving = persons.student().get(f"/pieces/{seed.short}/engraving").get_json()
    assert "<style" not in engraving["svgs"][0]
    assert "style=" not in engraving["svgs"][0]


def test_decisions_stand_beside_the_invitation_and_the_teacher_has_the_last_word(
    persons: People, seed: Seed
) -> None:
    student, teacher = persons.student(), persons.teacher()
    address = f"/pieces/{seed.short}/decisions"
    section = student.get(address).get_json()["decisions"][0]["section"]
    chosen = student.put(address, {"decisions": [{"section": section, "shape": "fade"}]}).get_json()["decisions"][
        0
    ]
    assert (chosen["shape"], chosen["by"]) == ("fade", "student")
    for_robin = f"{address}?student={seed.robin}"
    final = teacher.put(for_robin, {"decisions": [{"section": section, "shape": "grow"}]}).get_json()["decisions"][
        0
    ]
    assert (final["shape"], final["by"]) == ("grow", "teacher")
    again = student.put(address, {"decisions": [{"section": section, "shape": "steady"}]}).get_json()["decisions"][
        0
    ]
    assert (again["shape"], again["by"]) == ("grow", "teacher")


def test_the_plan_looks_two_weeks_ahead(persons: People, seed: Seed) -> None:
    plan = persons.teacher().get(f"/students/{seed.robin}/plan?days=14").get_json()
    assert [day["date"] for day in plan["days"]][:2] == ["2026-03-02", "2026-03-03"]
    assert len(plan["days"]) == 14
    assert all(day["rest_day"] == (not day["items"]) for day in plan["days"][:3])


def test_the_sheet_has_the_score_and_its_analysis(persons: People, seed: Seed) -> None:
    sheet = persons.teacher().get(f"/pieces/{seed.long}/sheet").get_json()
    assert sheet["svgs"][0].startswith("<svg")
    assert sheet["analysis"]["count_table"]
    assert sheet["piece"]["title"] == "Patchwork in D minor"


def test_a_choice_is_written_into_the_score(persons: People, seed: Seed) -> None:
    """A section that shall grow gets a hairpin (on each system it runs over); a mere invitation writes nothing."""
    student = persons.student()
    decided = student.get(f"/pieces/{seed.short}/decisions").get_json()
    assert decided["marks"] == []
    address = f"/pieces/{seed.short}/engraving?student={seed.robin}"
    plain = student.get(address).get_json()["svgs"][0]
    grow = {"section": decided["decisions"][0]["section"], "shape": "grow"}
    marks = student.put(f"/pieces/{seed.short}/decisions", {"decisions": [grow]}).get_json()["marks"]
    assert "crescendo" in {mark["kind"] for mark in marks}
    assert plain.count('class="hairpin') == 0
    assert student.get(address).get_json()["svgs"][0].count('class="hairpin') >= 1


def test_the_teachers_fingers_stay_and_the_rest_is_proposed(persons: People, seed: Seed, studio: Studio) -> None:
    """A finger that the teacher wrote is kept as it is; every other note gets a proposal from 1 to 5."""
    teacher, student = persons.teacher(), persons.student()
    address = f"/pieces/{seed.short}/fingering"
    proposed = student.get(address).get_json()
    notes = studio.library.work(seed.short).piece.by_id
    assert set(proposed["fingers"]) == set(notes)
    assert set(proposed["fingers"].values()) <= {1, 2, 3, 4, 5}
    note = next(iter(notes))
    other = proposed["fingers"][note] % 5 + 1
    written = teacher.put(address, {"fingers": {note: other}}).get_json()
    assert (written["fingers"][note], written["written"]) == (other, [note])
    assert student.get(address).get_json() == written
    assert teacher.put(address, {"fingers": {"no-such-note": 1}}).status_code == 422
    assert teacher.put(address, {"fingers": {note: 6}}).status_code == 422


def test_a_patchs_attempts_are_drawn_over_time(persons: People, seed: Seed, studio: Studio) -> None:
    """From the second heard attempt with the same hands on, the drill shows where they lead, in words too."""
    student = persons.student()
    for number in range(2):
        started_at = f"2026-03-02T17:0{number}:00+01:00"
        student.post("/attempts", attempt(studio, seed, f"attempt-{number:04d}", started_at=started_at))
        drill = student.get(f"/pieces/{seed.short}/drills/p1").get_json()
        assert (drill["over_time"] is not None) == (number > 0)
    assert drill["over_time"]["svg"].startswith("<svg")
    assert "100\u00a0%" in drill["over_time"]["text"]
