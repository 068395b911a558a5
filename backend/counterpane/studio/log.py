"""The practice log: weeks of days, minutes and patches, what the teacher asked, and how to help."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import cast

from counterpane.model.piece import Hands
from counterpane.store import assignments, attempts, pieces, puzzle_answers
from counterpane.store.attempts import AttemptRow
from counterpane.store.clock import moment
from counterpane.studio.house import Studio
from counterpane.studio.minutes import minutes_by_day
from counterpane.studio.pages.lesson import LoggedDay, LoggedPatch, LoggedWeek, LogPage
from counterpane.studio.people import student_card
from counterpane.wording import catalogue

HOW_TO_HELP = ("listen", "ask", "calm", "pain")


def log(studio: Studio, student_id: int, weeks: int, now: datetime) -> LogPage:
    """Return the last `weeks` weeks from Monday, the present one first."""
    card = student_card(studio, student_id, now)
    monday = now.date() - timedelta(days=now.weekday())
    since = monday - timedelta(weeks=weeks - 1)
    days = _days(studio, student_id, since)
    with studio.store.read() as db:
        notes = [
            (moment(note.written_at).astimezone(now.tzinfo).date(), note.text)
            for note in assignments.notes(db, student_id)
        ]
    words = catalogue("studio", card.language)
    asked_now = card.note or words.say("help.nothing_asked")
    return LogPage(
        student=card,
        weeks=tuple(_week(monday - timedelta(weeks=back), days, notes) for back in range(weeks)),
        how_to_help=(asked_now, *(words.say(f"help.{key}", minutes=card.minutes) for key in HOW_TO_HELP)),
    )


def _week(start: date, days: dict[str, LoggedDay], notes: Iterable[tuple[date, str]]) -> LoggedWeek:
    end = start + timedelta(days=7)
    own = [days[day] for day in sorted(days) if start.isoformat() <= day < end.isoformat()]
    return LoggedWeek(
        start=start.isoformat(),
        minutes=round(sum(day.minutes for day in own), 1),
        asked=tuple(text for written, text in notes if start <= written < end and text),
        days=tuple(own),
    )


def _days(studio: Studio, student_id: int, since: date) -> dict[str, LoggedDay]:
    with studio.store.read() as db:
        rows = attempts.of_student(db, student_id, since=since.isoformat())
        puzzles = puzzle_answers.per_day(db, student_id, since.isoformat())
        titles = {row.piece_id: pieces.piece(db, row.piece_id).title for row in rows}
    minutes = minutes_by_day(rows)
    by_day: dict[str, list[AttemptRow]] = defaultdict(list)
    for row in rows:
        by_day[row.day].append(row)
    found = {}
    for day in sorted(set(by_day) | set(puzzles)):
        answered, puzzle_s = puzzles.get(day, (0, 0.0))
        played = minutes.get(day)
        found[day] = LoggedDay(
            date=day,
            minutes=round((played.minutes if played else 0.0) + puzzle_s / 60, 1),
            self_judged_minutes=round(played.self_judged if played else 0.0, 1),
            patches=tuple(_patches(studio, by_day.get(day, []), titles)),
            puzzles=answered,
        )
    return found


def _patches(studio: Studio, rows: Iterable[AttemptRow], titles: dict[int, str]) -> Iterable[LoggedPatch]:
    """Return what was practised of each patch and hand on one day, in the order in which it was begun."""
    groups: dict[tuple[int, int, int, str], list[AttemptRow]] = defaultdict(list)
    for row in rows:
        groups[row.piece_id, row.first_measure, row.last_measure, row.hands].append(row)
    for (piece_id, first, last, hands), tried in groups.items():
        yield LoggedPatch(
            piece_id=piece_id,
            piece_title=titles[piece_id],
            patch_id=tried[-1].patch_id,
            section=section_at(studio, piece_id, first),
            first_measure=first,
            last_measure=last,
            hands=cast(Hands, hands),
            attempts=len(tried),
            met_goals=sum(row.met_goals for row in tried),
            self_judged=sum(row.source == "self-judged" for row in tried),
        )


def section_at(studio: Studio, piece_id: int, measure: int) -> str:
    """Return the label of the section that holds a measure, an empty text where there is none."""
    sections = studio.library.work(piece_id).analysis.sections
    return next((one.label for one in sections if one.first_measure <= measure <= one.last_measure), "")
