"""A piece whose notes lie on thirds or fifths of a beat goes the whole way: attempt, pictures, lesson brief."""

from __future__ import annotations

from datetime import timedelta

import pytest

from counterpane.model.practice import Passage
from counterpane.studio import people, pieces
from counterpane.studio.attempts import Tried, record_attempt
from counterpane.studio.brief import brief
from counterpane.studio.house import Studio
from tests.studio.conftest import NOW, STUDENT
from tests.studio.playing import played

LETTERS = "CDEFGAB"


def _score(parts: int) -> bytes:
    """Return eight measures of 4/4: the right hand in tuplets of `parts` notes, the left in quarters."""
    right = "".join(
        f"<note><pitch><step>{LETTERS[(beat * 2 + part) % 7]}</step><octave>5</octave></pitch>"
        f"<duration>1</duration><voice>1</voice><staff>1</staff></note>"
        for beat in range(4)
        for part in range(parts)
    )
    left = "".join(
        f"<note><pitch><step>{step}</step><octave>3</octave></pitch><duration>{parts}</duration>"
        f"<voice>2</voice><staff>2</staff></note>"
        for step in "CGEG"
    )
    attributes = (
        f"<attributes><divisions>{parts}</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
        "<staves>2</staves></attributes>"
    )
    back = f"<backup><duration>{4 * parts}</duration></backup>"
    measures = "".join(
        f'<measure number="{number}">{attributes if number == 1 else ""}{right}{back}{left}</measure>'
        for number in range(1, 9)
    )
    listed = '<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
    return f'<score-partwise version="4.0">{listed}<part id="P1">{measures}</part></score-partwise>'.encode()


@pytest.mark.parametrize("parts", [3, 5])
def test_weak_notes_on_a_tuplet_reach_the_lesson_brief(studio: Studio, parts: int) -> None:
    """The same two notes of measure 3 wrong in three attempts, each cut short on a tuplet."""
    piece_id = pieces.import_piece(studio, _score(parts), "tuplets.musicxml", NOW).id
    people.assign(studio, None, STUDENT, (people.Assigned(piece_id),), NOW)
    piece = studio.library.work(piece_id).piece
    third = [note for note in piece.notes if note.hand == "right" and 8 <= note.onset < 12]
    wrong = [note.id for note in third if (note.onset * parts) % parts == parts - 1][:2]
    turn = float(third[2 * parts - 1].onset) * 750
    events = tuple(
        (onset - 400.0 * (onset >= turn - 1), status, key, velocity)
        for onset, status, key, velocity in played(piece, 1, 8, "both", 80.0, wrong=wrong)
    )
    for number in range(3):
        page = record_attempt(
            studio,
            STUDENT,
            Tried(
                client_id=f"attempt-{number}",
                piece_id=piece_id,
                patch_id="p1",
                step_id="right-slow",
                passage=Passage(1, 8, "both", 80.0),
                started_at=NOW + timedelta(minutes=number),
                seconds=30.0,
                source="web-midi",
                raw_events=tuple(sorted(events, key=lambda event: event[0])),
            ),
            NOW + timedelta(minutes=number),
        )
        assert page.findings
        assert page.pictures
    (weak, *_) = brief(studio, STUDENT, NOW + timedelta(hours=1)).weak_spots
    assert (weak.measure, weak.hand) == (3, "right")
