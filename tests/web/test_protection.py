"""What stands between a stranger and a child's data."""

from __future__ import annotations

import threading

import pytest

from counterpane.web.limits import MOST_TRIES, SlidingWindow
from counterpane.web.protection import HEADERS
from tests.web.conftest import PASSPHRASE, Clock, People, Person, Seed


@pytest.mark.parametrize(
    "address", ["/", "/today", "/assets/index-4f2a9c.js", "/api/health", "/api/session", "/api/no"]
)
def test_every_answer_carries_the_headers(persons: People, address: str) -> None:
    answer = persons.stranger().client.get(address)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value


def test_the_policy_allows_no_inline_script_or_style() -> None:
    """CSP level 3: without 'unsafe-inline', hashes or nonces, nothing inline runs."""
    policy = dict(part.split(" ", 1) for part in HEADERS["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert "unsafe" not in HEADERS["Content-Security-Policy"]
    assert "midi=(self)" in HEADERS["Permissions-Policy"]


def test_the_session_cookie_is_out_of_reach(persons: People, seed: Seed) -> None:
    """HttpOnly keeps it from scripts, SameSite=Strict from other sites, Secure from plain http behind https."""
    client = persons.stranger().client
    plain = client.post("/api/session/link", json={"token": seed.tokens["robin"]})
    secure = client.post(
        "/api/session/link", json={"token": seed.tokens["robin"]}, base_url="https://studio.example"
    )
    for answer in (plain, secure):
        cookie = answer.headers["Set-Cookie"]
        assert "HttpOnly" in cookie
        assert "SameSite=Strict" in cookie
        assert "Path=/" in cookie
    assert "Secure" not in plain.headers["Set-Cookie"]
    assert "Secure" in secure.headers["Set-Cookie"]
    assert "Strict-Transport-Security" in secure.headers


@pytest.mark.parametrize("csrf", ["", "0" * 64, "é"])
def test_a_write_without_the_pages_token_is_refused(persons: People, csrf: str) -> None:
    teacher = persons.teacher()
    teacher.session["csrf"] = csrf
    refused = teacher.post("/students", {"nickname": "Sam"})
    assert refused.status_code == 403
    assert refused.get_json()["code"] == "csrf"
    assert len(teacher.get("/students").get_json()) == 2


def test_a_write_from_another_site_is_refused(persons: People, seed: Seed) -> None:
    """Fetch metadata (W3C) says where a request comes from; even a sign-in must come from the page itself."""
    for site in ("cross-site", "same-site"):
        refused = persons.stranger().post(
            "/session/link", {"token": seed.tokens["robin"]}, headers={"Sec-Fetch-Site": site}
        )
        assert refused.status_code == 403
    fine = persons.stranger().post(
        "/session/link", {"token": seed.tokens["robin"]}, headers={"Sec-Fetch-Site": "same-origin"}
    )
    assert fine.status_code == 201


def test_an_answer_about_people_is_kept_by_no_cache(persons: People, seed: Seed) -> None:
    student = persons.student()
    for address in ("/session", "/today", f"/students/{seed.robin}/log", f"/pieces/{seed.short}/quilt"):
        assert "no-store" in student.get(address).headers["Cache-Control"]


def test_guessing_the_passphrase_is_slowed_down(persons: People) -> None:
    """Ten wrong tries in five minutes, then even the right one has to wait."""
    stranger = persons.stranger()
    for _ in range(MOST_TRIES):
        assert stranger.post("/session/passphrase", {"passphrase": "wrong, and long enough"}).status_code == 401
    late = stranger.post("/session/passphrase", {"passphrase": PASSPHRASE})
    assert late.status_code == 429
    assert "wait five minutes" in late.get_json()["error"]


def test_right_tries_do_not_add_up(persons: People, seed: Seed) -> None:
    """A whole class may sign in from one address in one minute, and at one moment."""
    found: list[int] = []
    body = {"token": seed.tokens["robin"]}
    threads = [
        threading.Thread(target=lambda: found.append(persons.stranger().post("/session/link", body).status_code))
        for _ in range(3 * MOST_TRIES)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert found == [201] * 3 * MOST_TRIES


def test_a_window_slides() -> None:
    """Two events in ten seconds are allowed; a third has to wait until the first is ten seconds old."""
    now = [0.0]
    window = SlidingWindow(2, 10.0, clock=lambda: now[0])

    def allows(at: float) -> bool:
        now[0] = at
        return window.allows("a")

    assert [allows(at) for at in (0.0, 1.0, 2.0, 9.0, 10.5, 11.0)] == [True, True, False, False, True, True]
    assert window.is_full("a")
    assert not window.is_full("b")


def test_asking_too_often_has_to_wait_and_a_piano_has_not(persons: People) -> None:
    """A page may ask so many times a minute; keys come every few milliseconds and are not counted."""
    student = persons.student()
    code = student.post("/pairings").get_json()["code"]
    piano = persons.stranger()
    secret = piano.post(f"/pairings/{code}/claim").get_json()["secret"]
    persons.app.extensions["requests"] = SlidingWindow(5, 60.0)
    assert [student.get("/session").status_code for _ in range(6)] == [200] * 5 + [429]
    keys, headers = {"events": [[0, 144, 60, 80]]}, {"X-Pairing-Secret": secret}
    sent = [piano.post(f"/pairings/{code}/events", keys, headers=headers).status_code for _ in range(20)]
    assert sent == [200] * 20
    guessed = [piano.post(f"/pairings/{code}/events", keys).status_code for _ in range(MOST_TRIES + 1)]
    assert guessed == [403] * MOST_TRIES + [429]


def test_a_link_opens_on_one_device_and_then_asks_for_the_pin(persons: People, seed: Seed) -> None:
    """The PIN is chosen on the first device; the second has to know it."""
    link = _new_link(persons.teacher(), seed)
    second = persons.stranger()
    first = persons.stranger().sign_in("link", token=link)
    assert first.session["pin"] == "unset"
    assert second.post("/session/link", {"token": link}).get_json()["code"] == "refused"
    assert first.post("/session/pin", {"pin": "2718"}).status_code == 204
    assert second.post("/session/link", {"token": link}).get_json()["code"] == "pin_needed"
    assert second.post("/session/link", {"token": link, "pin": "1111"}).get_json()["code"] == "pin_wrong"
    assert second.post("/session/link", {"token": link, "pin": "2718"}).status_code == 201
    assert first.post("/session/link", {"token": link}).status_code == 201, "the first device is known"


def test_changing_the_pin_needs_the_old_one(persons: People, seed: Seed) -> None:
    first = persons.stranger().sign_in("link", token=_new_link(persons.teacher(), seed))
    first.post("/session/pin", {"pin": "2718"})
    assert first.post("/session/pin", {"pin": "3141"}).get_json()["code"] == "pin_needed"
    assert first.post("/session/pin", {"pin": "3141", "current_pin": "1111"}).get_json()["code"] == "pin_wrong"
    assert first.post("/session/pin", {"pin": "3141", "current_pin": "2718"}).status_code == 204


def test_guessing_a_pin_locks_the_link(persons: People, seed: Seed, clock: Clock) -> None:
    """Five wrong PINs in a row lock the link for a quarter of an hour, wherever they come from."""
    link = _new_link(persons.teacher(), seed)
    persons.stranger().sign_in("link", token=link).post("/session/pin", {"pin": "2718"})
    for number in range(5):
        guesser = persons.stranger()
        guesser.client.environ_base["REMOTE_ADDR"] = f"10.0.0.{number}"
        assert guesser.post("/session/link", {"token": link, "pin": f"000{number}"}).status_code == 401
    right = {"token": link, "pin": "2718"}
    assert persons.stranger().post("/session/link", right).status_code == 429
    clock.move(minutes=14)
    assert persons.stranger().post("/session/link", right).status_code == 429
    clock.move(minutes=2)
    assert persons.stranger().post("/session/link", right).status_code == 201


def test_a_revoked_link_signs_out_whoever_came_by_it(persons: People, seed: Seed) -> None:
    teacher = persons.teacher()
    link = _new_link(teacher, seed)
    guest = persons.stranger().sign_in("link", token=link)
    number = teacher.get(f"/students/{seed.robin}/links").get_json()[-1]["id"]
    newest = max(one["id"] for one in teacher.get(f"/students/{seed.robin}/links").get_json())
    assert number
    assert teacher.write("DELETE", f"/links/{newest}").status_code == 204
    assert guest.get("/session").status_code == 401
    assert persons.stranger().post("/session/link", {"token": link}).get_json()["code"] == "refused"


def test_signing_out_ends_the_session_here_alone(persons: People) -> None:
    one, other = persons.student(), persons.student()
    assert one.write("DELETE", "/session").status_code == 204
    assert one.get("/session").status_code == 401
    assert other.get("/session").status_code == 200


def test_a_session_ends_after_half_a_year(persons: People, clock: Clock) -> None:
    student = persons.student()
    clock.move(days=179)
    assert student.get("/session").status_code == 200
    clock.move(days=2)
    assert student.get("/session").status_code == 401


def test_a_family_takes_its_data_and_is_erased(persons: People, seed: Seed) -> None:
    """A parent may do both; the name must be typed again; afterwards nobody of the family comes in."""
    parent, student = persons.parent(), persons.student()
    export = parent.get(f"/students/{seed.robin}/export")
    assert "attachment" in export.headers["Content-Disposition"]
    assert export.get_json()["tables"]["person"][0]["nickname"] == "Robin"
    slip = parent.post(f"/students/{seed.robin}/erase", {"nickname": "Robyn"})
    assert (slip.status_code, student.get("/session").status_code) == (409, 200)
    assert parent.post(f"/students/{seed.robin}/erase", {"nickname": "Robin"}).status_code == 204
    assert (parent.get("/session").status_code, student.get("/session").status_code) == (401, 401)
    teacher = persons.teacher()
    assert [one["nickname"] for one in teacher.get("/students").get_json()] == ["Alex"]
    line = teacher.get("/audit").get_json()[0]
    assert (line["action"], line["about"]) == ("erased a student", f"student {seed.robin}")


def _new_link(teacher: Person, seed: Seed) -> str:
    made = teacher.post(f"/students/{seed.robin}/links", {"role": "student"}).get_json()
    return str(made["url"].partition("#")[2])
