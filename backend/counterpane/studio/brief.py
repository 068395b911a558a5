"""The lesson brief: what is weak, with evidence and trend, what was left out, and an order for the lesson."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta

from counterpane.listening.weak_spots import WeakSpot as Spot
from counterpane.listening.weak_spots import tallies_from_json, weak_spots
from counterpane.model.assessment import MeasureTally
from counterpane.practice.lessons import last_lesson
from counterpane.store import assessments, puzzle_answers
from counterpane.studio.decisions import decided
from counterpane.studio.history import history
from counterpane.studio.house import Studio
from counterpane.studio.minutes import minutes_by_day
from counterpane.studio.pages.lesson import (
    BriefPage,
    DecidedPiece,
    LessonStep,
    PuzzleTally,
    Unpractised,
    WeakSpot,
)
from counterpane.studio.past import History
from counterpane.studio.people import student_card
from counterpane.wording import Catalogue, catalogue

LOOK_BACK = timedelta(weeks=4)
A_WEEK = timedelta(days=7)
MOST_WEAK_SPOTS = 5
MOST_IN_LESSON = 3
LIKELY = 0.5
SPOT_WIDTH_PX = 320
SPOT_SCALE = 40


def brief(studio: Studio, student_id: int, now: datetime, language: str = "en") -> BriefPage:
    """Return the teacher's two minutes before a lesson with this student, in the teacher's language."""
    card = student_card(studio, student_id, now)
    past = history(studio, student_id)
    words = catalogue("studio", language)
    since = last_lesson(past.settings.lessons, now.date()) or now.date() - A_WEEK
    minutes = minutes_by_day(row for row in past.rows if row.day >= since.isoformat())
    total = sum(day.minutes for day in minutes.values())
    spots = _weak_spots(studio, student_id, now.date() - LOOK_BACK, words)
    left_out = _not_practised(studio, past, since, words)
    with studio.store.read() as db:
        tallies = puzzle_answers.tallies(db, student_id, (now.date() - LOOK_BACK).isoformat())
    return BriefPage(
        student=card,
        since=since.isoformat(),
        minutes=round(total, 1),
        minutes_asked=card.minutes * _practice_days(since, now.date(), card.rest_days),
        days_practised=len(minutes),
        self_judged_share=round(sum(day.self_judged for day in minutes.values()) / total, 2) if total else 0.0,
        weak_spots=spots,
        not_practised=left_out,
        proposed_order=_order(past, spots, left_out, words),
        puzzles=tuple(PuzzleTally(one.kind, one.right, one.tried) for one in tallies),
        decisions=tuple(_decided(studio, past, student_id, language)),
    )


def _practice_days(since: date, until: date, rest_days: tuple[int, ...]) -> int:
    """Count the days after `since` up to `until` on which practice is asked."""
    days = (since + timedelta(days=number) for number in range(1, (until - since).days + 1))
    return sum(day.weekday() not in rest_days for day in days)


def _weak_spots(studio: Studio, student_id: int, since: date, words: Catalogue) -> tuple[WeakSpot, ...]:
    """Return the weakest places of all pieces, each with its measure engraved."""
    by_piece: dict[int, list[tuple[MeasureTally, ...]]] = defaultdict(list)
    with studio.store.read() as db:
        heard = assessments.newest_tallies(db, student_id, since.isoformat())
    for one in heard:
        by_piece[one.piece_id].append(tallies_from_json(one.tallies))
    found = [(piece_id, spot) for piece_id, tried in by_piece.items() for spot in weak_spots(tried)]
    likely = [pair for pair in found if pair[1].certainty >= LIKELY]
    likely.sort(key=lambda pair: -pair[1].certainty * pair[1].share)
    return tuple(_weak_spot(studio, piece_id, spot, words) for piece_id, spot in likely[:MOST_WEAK_SPOTS])


def _weak_spot(studio: Studio, piece_id: int, spot: Spot, words: Catalogue) -> WeakSpot:
    picture = studio.library.engraved(piece_id, spot.measure, spot.measure, "both", SPOT_WIDTH_PX, SPOT_SCALE)
    kind = max(spot.kinds, key=lambda name: spot.kinds[name])
    return WeakSpot(
        piece_id=piece_id,
        piece_title=studio.library.work(piece_id).piece.title,
        measure=spot.measure,
        hand=spot.hand,
        kind=kind,
        text=words.say(f"spot.{kind}", hand=words.say(f"hand.{spot.hand}"), measure=spot.measure),
        evidence=words.say(
            "spot.evidence",
            troubled=spot.troubled,
            visits=spot.visits,
            attempts=spot.attempts,
            # Nobody is ever quite sure.
            percent=min(99, round(100 * spot.certainty)),
        ),
        attempts=spot.attempts,
        trend=spot.trend,
        certainty=round(spot.certainty, 2),
        svg=picture.svgs[0],
    )


def _not_practised(studio: Studio, past: History, since: date, words: Catalogue) -> tuple[Unpractised, ...]:
    """Return the assigned sections that no attempt has touched since a day."""
    recent = [row for row in past.rows if row.day >= since.isoformat()]
    found = []
    for assigned in past.assignments:
        piece_id = int(assigned.piece)
        for section in studio.library.work(piece_id).analysis.sections:
            touched = [
                row
                for row in past.rows
                if row.piece_id == piece_id
                and row.first_measure <= section.last_measure
                and section.first_measure <= row.last_measure
            ]
            asked = not assigned.sections or section.label in assigned.sections
            if asked and not any(row in recent for row in touched):
                last = max((row.day for row in touched), default=None)
                reason = words.say("brief.last_played", day=last) if last else words.say("brief.never_played")
                found.append(
                    Unpractised(
                        piece_id,
                        assigned.title,
                        section.label,
                        section.first_measure,
                        section.last_measure,
                        reason,
                    )
                )
    return tuple(found)


def _order(
    past: History, spots: tuple[WeakSpot, ...], left_out: tuple[Unpractised, ...], words: Catalogue
) -> tuple[LessonStep, ...]:
    """Return a proposed order: something that holds, the weak spots, what was left out, and a run to close."""
    first = past.assignments[:1]
    return (
        *(LessonStep(int(one.piece), one.title, words.say("lesson.open"), 3) for one in first),
        *(_on_weak_spot(spot, words) for spot in spots[:MOST_IN_LESSON]),
        *(_on_left_out(one, words) for one in left_out[:1]),
        *(LessonStep(int(one.piece), one.title, words.say("lesson.close"), 4) for one in first),
    )


def _on_weak_spot(spot: WeakSpot, words: Catalogue) -> LessonStep:
    text = words.say("lesson.weak", measure=spot.measure, text=spot.text)
    return LessonStep(spot.piece_id, spot.piece_title, text, 6)


def _on_left_out(one: Unpractised, words: Catalogue) -> LessonStep:
    text = words.say("lesson.left_out", section=one.section, first=one.first_measure, last=one.last_measure)
    return LessonStep(one.piece_id, one.piece_title, text, 5)


def _decided(studio: Studio, past: History, student_id: int, language: str) -> Iterable[DecidedPiece]:
    for assigned in past.assignments:
        work = studio.library.work(int(assigned.piece))
        chosen = tuple(one for one in decided(studio, student_id, work, language) if one.by != "analysis")
        if chosen:
            yield DecidedPiece(work.piece_id, work.piece.title, chosen)
