"""What went right, said as exactly as what did not: only what the figures bear out."""

from __future__ import annotations

from collections.abc import Iterator

from counterpane.listening.measures.shape import onset_at
from counterpane.listening.observations import Case, Observation

# How close to its goal a tempo must be to be called the goal's, and how close to be called steady.
_AT_GOAL = (0.93, 1.1)
_STEADY = 0.06


def praise(case: Case) -> Iterator[Observation]:
    """Yield every true praise of an attempt, the more particular ones with more weight; all weigh under ten."""
    yield from _corrected(case)
    yield from _entries(case)
    yield from _sequences(case)
    yield from _together(case)
    yield from _even(case)
    yield from _all_notes(case)
    yield from _next_tempo(case)


def _all_notes(case: Case) -> Iterator[Observation]:
    first, overall = case.number("accuracy", "first_try"), case.number("accuracy", "overall")
    played = case.number("accuracy", "played")
    if first == 1 and overall == 1 and played and not case.troubles:
        kind = "praise_notes_moved" if case.heard.alignment.transposed_by else "praise_notes"
        yield Observation(kind, case.first, case.last, 7.2, {"count": int(played)})


def _corrected(case: Case) -> Iterator[Observation]:
    """Praise a spot that had trouble in an earlier pass and none in the last one that came through it."""
    for spot in case.spots:
        through = [
            one.run for one in case.heard.passes if one.struck[0].onset <= spot.start <= one.struck[-1].onset
        ]
        if through and max(trouble.run for trouble in spot.troubles) < through[-1]:
            yield Observation("praise_corrected", spot.start, spot.end, 9.0, {"passes": len(through)}, spot.hand)
            return


def _entries(case: Case) -> Iterator[Observation]:
    """Praise entries that can all be heard, unless they only open their hands, which takes no doing."""
    value, of = case.number("entries"), case.number("entries", "of")
    made = any(row["heard_by"] != "opening" for row in case.rows("entries", "each"))
    if made and value is not None and of is not None and value == of >= 2:
        yield Observation("praise_entries", case.first, case.last, 8.0, {"of": int(of)})


def _sequences(case: Case) -> Iterator[Observation]:
    for row in case.rows("sequences", "each"):
        if row["follows_plan"] is True and row["direction"] in ("grows", "fades"):
            yield Observation(
                f"praise_sequence_{row['direction']}",
                onset_at(row, "start"),
                onset_at(row, "end"),
                7.5,
                {"change": round(float(str(row["change"])))},
            )
            return


def _together(case: Case) -> Iterator[Observation]:
    median, high = case.number("togetherness"), case.number("togetherness", "p90_ms")
    if median is not None and high is not None and median <= 20 and high <= 45:
        places = int(str(case.measures["togetherness"]["notes"]))
        yield Observation(
            "praise_together", case.first, case.last, 7.0, {"ms": max(1, round(high)), "places": places}
        )


def _even(case: Case) -> Iterator[Observation]:
    steadiness, sd = case.number("tempo", "steadiness"), case.number("evenness")
    if steadiness is None or sd is None or steadiness > _STEADY:
        return
    if case.measures["evenness"].get("judged") == "even":
        slower = (case.number("tempo", "share_of_goal") or 1.0) < _AT_GOAL[0]
        kind = "praise_even_slow" if slower else "praise_even"
        yield Observation(kind, case.first, case.last, 6.5, {"ms": max(1, round(sd))})


def _next_tempo(case: Case) -> Iterator[Observation]:
    """Praise what was all right below the goal tempo, or at it, and say what comes next."""
    share = case.number("tempo", "share_of_goal")
    flawed = case.troubles or case.heard.alignment.transposed_by or case.number("accuracy", "overall") != 1
    if share is None or flawed:
        return
    kind = "praise_slow" if share < _AT_GOAL[0] else "praise_tempo" if share <= _AT_GOAL[1] else None
    if kind:
        tempo = case.number("tempo") or case.heard.passage.tempo
        step = round(min(case.heard.passage.tempo, 1.08 * tempo))
        yield Observation(
            kind,
            case.first,
            case.last,
            5.0,
            {"tempo": round(tempo), "goal": round(case.heard.passage.tempo), "step": step},
        )
