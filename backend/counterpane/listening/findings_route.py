"""What is observed about the way taken: which hands played, where it began and ended, what was skipped."""

from __future__ import annotations

from collections.abc import Iterator

from counterpane.listening.observations import Case, Observation
from counterpane.listening.skips import find_skips
from counterpane.model.piece import Hand

# The other hand plays too when it has this many keys, and this share of all: fewer may be chance.
_FEWEST_KEYS = 3
_PLAYS_TOO = 0.25


def hands(case: Case) -> Iterator[Observation]:
    """Observe that a hand was silent that was to play, or that the other played too where one was asked."""
    silent = _silent(case)
    if silent and case.heard.passes:
        yield Observation("one_hand", case.first, case.last, 52.0, {"hands": 1}, silent[0])
    asked = case.heard.passage.hands
    others = _keys_of_the_other_hand(case)
    if asked != "both" and others >= max(_FEWEST_KEYS, _PLAYS_TOO * len(case.heard.alignment.events)):
        yield Observation("both_hands", case.first, case.last, 45.0, {"keys": others}, asked)


def not_all_played(case: Case) -> Iterator[Observation]:
    """Observe that the passage was not begun at its start or not played to its end, by the hands that played."""
    struck = [struck.onset for one in case.heard.passes for struck in one.struck]
    if not struck:
        return
    missing = _never_sounded(case)
    for kind, onsets, at in (
        ("stopped_early", [onset for onset in missing if onset > max(struck)], max(struck)),
        ("began_late", [onset for onset in missing if onset < min(struck)], min(struck)),
    ):
        share = len(onsets) / len(case.heard.sheet.expected)
        if len(onsets) >= 2 and share > 0.02:
            yield Observation(kind, at, at, 24.0 + 26.0 * share, {"missing_share": round(share, 2)})


def skipped(case: Case) -> Iterator[Observation]:
    """Observe music that was gone past: whole measures by their numbers, less than that from place to place."""
    missing = _never_sounded(case)
    sheet = case.heard.sheet
    for start, end in sorted(_gone_past(case)):
        between = [onset for onset in missing if start < onset < end]
        if between:
            whole = sheet.begins_measure(between[0]) and end in sheet.rank and sheet.begins_measure(end)
            places = (between[0], between[-1]) if whole else (start, end)
            yield Observation("skipped" if whole else "skipped_here", *places, 33.0, {"quarters": end - start})


def _gone_past(case: Case) -> set[tuple[float, float]]:
    """Return from where to where the playing went straight on, within a pass and by a jump."""
    jumps = (jump for jump in case.heard.alignment.jumps if jump.kind == "skip")
    found = {(float(j.from_place.offset), float(j.to_place.offset)) for j in jumps if j.from_place is not None}
    return found | {(skip.before, skip.after) for one in case.heard.passes for skip in find_skips(case.heard, one)}


def _keys_of_the_other_hand(case: Case) -> int:
    """Count the keys that played notes of the hand that was not asked."""
    asked, by_id = case.heard.passage.hands, case.heard.sheet.piece.by_id
    struck = (event for event in case.heard.alignment.events if event.status in ("as_written", "abandoned"))
    return sum(event.note is not None and by_id[event.note].hand != asked for event in struck)


def _silent(case: Case) -> list[Hand]:
    played = {struck.note.hand for one in case.heard.passes for struck in one.struck}
    return [hand for hand in case.heard.sheet.hands if hand not in played]


def _never_sounded(case: Case) -> list[float]:
    """Return the onsets of notes that were left out or not reached, in the hands that played, in written order."""
    silent = _silent(case)
    absent = ("left_out", "not_reached")
    notes = (note for note in case.heard.sheet.expected if note.hand not in silent)
    return [case.heard.sheet.onset_of[note.id] for note in notes if case.heard.statuses[note.id] in absent]
