"""Furnishes a studio file with three invented students, the demo pieces and three weeks of practice."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from counterpane.model.piece import Hands
from counterpane.model.practice import Passage
from counterpane.studio import attempts, links, people, pieces
from counterpane.studio.house import Studio, create_studio
from counterpane.studio.links import WantedLink
from counterpane.studio.pages.people import Language
from counterpane.studio.people import Assigned, NewStudent
from demo.simulation.faults import Faults
from demo.simulation.student import simulate

PASSPHRASE = "seven blue buttons"  # noqa: S105 - a test's own
PIECES = Path(__file__).parents[2] / "demo" / "pieces"
STUDIO_NAME = "Studio by the Mill"
NOTE = "Let every entry be heard as a beginning."


@dataclass
class Seed:
    """Ids of the people and pieces, and the tokens of their links, by name."""

    pieces: dict[str, int] = field(default_factory=dict)
    students: dict[str, int] = field(default_factory=dict)
    tokens: dict[str, str] = field(default_factory=dict)


def furnish(path: Path, now: datetime, language: Language = "en") -> Seed:
    """Make the studio file at `path` as it stands at `now`; the first student reads `language`."""
    then = now - timedelta(days=21)
    studio = create_studio(path, STUDIO_NAME, PASSPHRASE, then)
    seed = Seed()
    for file in sorted(PIECES.glob("*.musicxml")):
        seed.pieces[file.stem] = pieces.import_piece(studio, file.read_bytes(), file.name, then).id
    lesson = (now + timedelta(days=3)).date()
    # Whatever day it is, there is practice today, tomorrow and on the days of the weeks before.
    rest_day = (now + timedelta(days=4)).weekday()
    otter = NewStudent("Otter", "early", language, 20, (rest_day,), lesson, note=NOTE)
    _student(studio, seed, otter, "patchwork-in-d-minor", then)
    _student(studio, seed, NewStudent("Finch", "intermediate", "de", 25, ()), "the-ferry-bell", then)
    _student(studio, seed, NewStudent("Newt", "early", "en", 15, ()), "two-lanterns", then)
    _practise(studio, seed, now)
    studio.close()
    return seed


def _student(studio: Studio, seed: Seed, new: NewStudent, piece: str, then: datetime) -> None:
    student = people.add_student(studio, None, new, then).id
    seed.students[new.nickname] = student
    people.assign(studio, None, student, (Assigned(seed.pieces[piece]),), then)
    for wanted, key in (
        (WantedLink(student, "student", pin_required=False), new.nickname),
        (WantedLink(student, "parent", pin_required=False), f"{new.nickname}'s parent"),
    ):
        seed.tokens[key] = links.create_link(studio, None, wanted, "https://x", then).url.partition("#")[2]


_DRILLS: tuple[tuple[int, str, str, Hands, int, int], ...] = (
    (14, "p1", "right-slow", "right", 1, 2),
    (13, "p1", "left-slow", "left", 1, 2),
    (9, "p1", "both-slow", "both", 1, 2),
    (6, "p2", "right-slow", "right", 3, 4),
    (5, "p2", "left-slow", "left", 3, 4),
    (2, "p2", "both-slow", "both", 3, 4),
    (1, "p2", "both-slow", "both", 3, 4),
)


def _practise(studio: Studio, seed: Seed, now: datetime) -> None:
    """Otter plays: clean at first, with hesitations in the second patch; once without an instrument."""
    piece_id = seed.pieces["patchwork-in-d-minor"]
    piece = studio.library.work(piece_id).piece
    for number, (days, patch, step, hands, first, last) in enumerate(_DRILLS):
        started = now - timedelta(days=days, minutes=30)
        passage = Passage(first, last, hands, 46.0)
        faults = Faults(hesitation=0.15, wrong=0.06) if patch == "p2" else Faults()
        for repeat in range(4):
            played = simulate(piece, passage, 100 * number + repeat, faults).raw
            tried = attempts.Tried(
                client_id=f"seed-{number}-{repeat}",
                piece_id=piece_id,
                patch_id=patch,
                step_id=step,
                passage=passage,
                started_at=started + timedelta(minutes=2 * repeat),
                seconds=75.0,
                source="web-midi",
                raw_events=played,
            )
            attempts.record_attempt(studio, seed.students["Otter"], tried, started + timedelta(minutes=2 * repeat))
    _judge_alone(studio, seed, piece_id, now - timedelta(days=2))


def _judge_alone(studio: Studio, seed: Seed, piece_id: int, started: datetime) -> None:
    tried = attempts.Tried(
        client_id="seed-alone",
        piece_id=piece_id,
        patch_id="p1",
        step_id="both-slow",
        passage=Passage(1, 2, "both", 46.0),
        started_at=started,
        seconds=180.0,
        source="self-judged",
        self_judgement=(3, 2, 2),
    )
    attempts.record_attempt(studio, seed.students["Otter"], tried, started)
