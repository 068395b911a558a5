"""What is written is what is read, aggregate by aggregate."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from counterpane.errors import NotFound, StoreError
from counterpane.store import (
    analyses,
    assessments,
    assignments,
    attempts,
    corrections,
    decisions,
    links,
    pairings,
    people,
    pieces,
    puzzle_answers,
    sessions,
)
from counterpane.store.database import Store
from counterpane.store.packing import pack_events, unpack_events
from tests.store.conftest import NOW, PIECE, STUDENT, new_attempt, new_piece


@given(
    st.lists(
        st.tuples(
            st.floats(min_value=0, max_value=1e13, allow_nan=False),
            st.integers(0, 255),
            st.integers(0, 127),
            st.integers(0, 127),
        ),
        max_size=200,
    )
)
def test_key_events_come_back_exactly(events: list[tuple[float, int, int, int]]) -> None:
    """An assessment can be made again only if the device's own times are kept to the last bit."""
    assert list(unpack_events(pack_events(events))) == events


def test_key_events_of_a_later_format_are_refused() -> None:
    with pytest.raises(StoreError, match="newer Counterpane"):
        unpack_events(b"\x07abc")


def test_an_attempt_comes_back_as_it_was_played(store: Store) -> None:
    with store.write() as db:
        number = attempts.add(db, new_attempt("first-try"), NOW)
    with store.read() as db:
        row = attempts.attempt(db, number)
        assert (row.patch_id, row.hands, row.tempo, row.day, row.engine) == (
            "p1",
            "right",
            60.0,
            "2026-03-02",
            None,
        )
        assert attempts.raw_events(db, number) == ((0.0, 144, 60, 80), (480.5, 128, 60, 0))
        assert attempts.by_client_id(db, STUDENT, "first-try") == number
        assert attempts.by_client_id(db, STUDENT, "other-try") is None


def test_old_assessments_stay_beside_new_ones(store: Store) -> None:
    """A better engine's answer is shown; the earlier one is kept."""
    with store.write() as db:
        number = attempts.add(db, new_attempt("first-try"), NOW)
        for engine, accuracy in (("1", 0.5), ("2", 0.9)):
            assessments.add(db, number, _assessment(engine, accuracy), NOW)
    with store.read() as db:
        found = assessments.newest(db, number)
        assert found is not None
        assert (found.engine, found.accuracy, found.report) == ("2", 0.9, {"made_by": "2"})
        assert attempts.attempt(db, number).accuracy == 0.9
        assert assessments.engines(db, number) == ("1", "2")
        assert attempts.heard_by_others(db, "2", "") == ()
        assert attempts.heard_by_others(db, "3", "") == (number,)
        assert attempts.heard_by_others(db, "3", "2026-03-03") == ()


def _assessment(engine: str, accuracy: float) -> assessments.AssessmentRow:
    return assessments.AssessmentRow(
        engine, accuracy, 20.0, None, 0, True, True, ({"text": "Even."},), (), {"made_by": engine}, ()
    )


def test_attempts_are_listed_in_the_order_they_were_made(store: Store) -> None:
    """Attempts that waited offline arrive late and still stand where they belong."""
    with store.write() as db:
        for client_id, hours in (("third", 3), ("first", 1), ("second", 2)):
            attempts.add(db, new_attempt(client_id * 2, started_at=NOW + timedelta(hours=hours)), NOW)
    with store.read() as db:
        times = [row.started_at for row in attempts.of_student(db, STUDENT)]
        newest = [row.started_at for row in attempts.newest(db, STUDENT, PIECE, "p1", 2)]
    assert times == sorted(times)
    assert newest == times[:0:-1]


def test_a_link_is_found_by_its_hash_until_it_is_revoked(store: Store) -> None:
    with store.write() as db:
        number = links.add(db, STUDENT, "hash", True, NOW)
        sessions.start(db, "session", STUDENT, number, NOW, NOW + timedelta(days=1))
    with store.write() as db:
        assert links.by_token(db, "hash") is not None
        links.revoke(db, number, NOW)
        assert links.by_token(db, "hash") is None
        assert sessions.by_token(db, "session", NOW) is None
        assert [link.revoked for link in links.links_of(db, STUDENT)] == [True]


def test_a_session_ends_on_its_day(store: Store) -> None:
    with store.write() as db:
        sessions.start(db, "session", STUDENT, None, NOW, NOW + timedelta(days=1))
    with store.read() as db:
        assert sessions.by_token(db, "session", NOW + timedelta(hours=23)) is not None
        assert sessions.by_token(db, "session", NOW + timedelta(hours=25)) is None


def test_corrections_are_kept_as_revisions(store: Store) -> None:
    """A correction never overwrites an earlier one; each revision has its own analysis."""
    with store.write() as db:
        assert corrections.newest(db, PIECE) == (0, [])
        assert corrections.add(db, PIECE, [{"kind": "subject"}], NOW) == 1
        assert corrections.add(db, PIECE, [], NOW) == 2
        analyses.keep(db, PIECE, analyses.AnalysisRow("1", 2, "C major", "{}", ()), NOW)
        analyses.keep(db, PIECE, analyses.AnalysisRow("1", 2, "D minor", "{}", ()), NOW)
    with store.read() as db:
        assert corrections.newest(db, PIECE) == (2, [])
        assert analyses.newest(db, PIECE, 1) is None
        assert analyses.key(db, PIECE) == "C major"
        assert analyses.keys(db) == {PIECE: "C major"}


def test_assignments_end_and_come_back(store: Store) -> None:
    """What is no longer asked can still be seen by the student, since attempts on it may be on their way."""
    one = assignments.AssignmentRow(PIECE, ("A1",), 60.0)
    with store.write() as db:
        assignments.replace(db, STUDENT, (one,), NOW)
        assert assignments.assignments(db, STUDENT) == (one,)
        assignments.replace(db, STUDENT, (), NOW)
        assert assignments.assignments(db, STUDENT) == ()
        assert assignments.pieces_of(db, (STUDENT,)) == {PIECE}
        assignments.replace(db, STUDENT, (one,), NOW)
        assert assignments.assignments(db, STUDENT) == (one,)
        assert pieces.is_in_use(db, PIECE)


def test_an_older_decision_never_replaces_a_newer_one(store: Store) -> None:
    """A decision that waited for the network does not undo what was decided since."""
    newer, older = (decisions.DecisionRow("A1", "student", shape, None, None) for shape in ("grow", "fade"))
    with store.write() as db:
        decisions.decide(db, STUDENT, PIECE, newer, NOW)
        decisions.decide(db, STUDENT, PIECE, older, NOW - timedelta(hours=1))
        assert decisions.decisions(db, STUDENT, PIECE) == (newer,)
        decisions.decide(db, STUDENT, PIECE, older, NOW + timedelta(hours=1))
        assert decisions.decisions(db, STUDENT, PIECE) == (older,)


def test_a_puzzle_answer_counts_once(store: Store) -> None:
    row = puzzle_answers.AnswerRow(
        "client-1", PIECE, "count-1", "p1", "count-entries", 4, True, 9000, "2026-03-02", NOW
    )
    with store.write() as db:
        puzzle_answers.add(db, STUDENT, row)
        puzzle_answers.add(db, STUDENT, row)
        assert puzzle_answers.tallies(db, STUDENT, "") == (puzzle_answers.Tally("count-entries", 1, 1),)
        assert puzzle_answers.outcomes(db, STUDENT, PIECE) == {"count-1": True}
        assert puzzle_answers.per_day(db, STUDENT, "") == {"2026-03-02": (1, 9.0)}
        assert [one.minutes for one in puzzle_answers.opened(db, STUDENT)] == [0.15]


def test_a_code_is_free_again_when_its_pairing_has_ended(store: Store) -> None:
    with store.write() as db:
        pairings.start(db, "123456", STUDENT, NOW)
        first = pairings.by_code(db, "123456")
        assert first is not None
        pairings.end(db, first.id, NOW)
        assert pairings.by_code(db, "123456") is None
        pairings.start(db, "123456", STUDENT, NOW)
        pairings.end_older(db, NOW + timedelta(days=1), NOW)
        assert pairings.by_code(db, "123456") is None


def test_what_is_not_there_is_said_in_one_sentence(store: Store) -> None:
    with store.read() as db:
        for ask in (people.person, people.student, pieces.piece, pieces.source, attempts.attempt, links.link):
            with pytest.raises(NotFound, match=r"There is no such \w+ in this studio\."):
                ask(db, 99)


def test_one_score_file_is_one_piece(store: Store) -> None:
    with store.write() as db:
        second = pieces.add(db, new_piece(b"<other/>"), NOW)
        assert [row.id for row in pieces.pieces(db)] == [PIECE, second]
        assert pieces.by_source(db, str(b"<other/>")) is not None
        pieces.remove(db, second)
        assert pieces.by_source(db, str(b"<other/>")) is None
