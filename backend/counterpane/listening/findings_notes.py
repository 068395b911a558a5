"""What is observed about the notes themselves: stumbling, misreading, wrong, missing and added notes, stopping."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from itertools import groupby

from counterpane.listening.findings_position import octave, one_key_off
from counterpane.listening.observations import PUT_RIGHT, Case, Evidence, Observation
from counterpane.listening.spelling import spell
from counterpane.listening.troubles import Spot, Trouble
from counterpane.model.assessment import Alignment
from counterpane.model.piece import Hand

# The lowest mark of a metronome (Maelzel's scale runs from 40 to 208): advice to play slower ends there.
_SLOWEST = 40.0
# Wrong notes are many from six, and one in a hundred, in four measures or more. They crowd where three lie within
# four measures or fewer.
_MANY_WRONG, _MANY_WRONG_SHARE, _MANY_MEASURES = 6, 0.01, 4
_WIDEST_CROWD, _FEWEST_IN_CROWD = 4, 3
# So many added keys in a row are no slips of a finger.
_TRIED_OUT = 4


def is_unrecognised(alignment: Alignment) -> bool:
    """Tell whether what was played has little to do with the passage.

    So it is when fewer than two keys in five stand for written notes, or none of them for a note that was asked.
    """
    events = alignment.events
    asked = {result.note for result in alignment.notes}
    fitting = sum(1 for event in events if event.status in ("as_written", "abandoned"))
    strange = len(events) >= 8 and fitting < 0.4 * len(events)
    return strange or not any(event.note in asked for event in events)


def transposed(case: Case) -> Iterator[Observation]:
    """Observe that everything sounded higher or lower than written: a switch on the instrument."""
    shift = case.heard.alignment.transposed_by
    if shift:
        kind = "transposed_up" if shift > 0 else "transposed_down"
        yield Observation(kind, case.first, case.last, 66.0, {"semitones": abs(shift)})


def stumbles(case: Case) -> Iterator[Observation]:
    """Observe spots where two or more passes had trouble: what a teacher would work on first."""
    for spot in _repeated(case):
        wrong = _usual_mistake(case, spot)
        evidence: Evidence = {
            "times": spot.times,
            "passes": sum(1 for one in case.heard.passes if one.struck[-1].onset >= spot.start),
            "stops": len(spot.of_kind("stop")),
            "hesitations": len(spot.of_kind("hesitation")),
            "wrong": len(spot.of_kind("wrong")) + len(spot.of_kind("corrected")),
            "left_out": len(spot.of_kind("left_out")) + len(spot.of_kind("skipped")),
        }
        same = wrong if not evidence["stops"] and not evidence["hesitations"] else None
        yield Observation(
            "same_wrong_note" if same else "stumble",
            spot.start,
            spot.end,
            70.0 + 10.0 * min(spot.times, 5),
            evidence | (_semitones_off(case, same) if same else {}),
            case.note(same).hand if same else spot.hand,
            tuple(dict.fromkeys(trouble.note for trouble in spot.troubles if trouble.note)),
            _confused(case, same) if same else {},
        )


def misread(case: Case) -> Iterator[Observation]:
    """Observe one written pitch taken for another in at least two places: a sign or an accidental overlooked."""
    by_confusion: dict[tuple[Hand, str, int, int], list[Trouble]] = defaultdict(list)
    for trouble in case.troubles:
        if trouble.kind in ("wrong", "corrected"):
            note, played = case.note(trouble), case.key(trouble)
            by_confusion[note.hand, note.pitch.step, note.pitch.alter, played - note.midi].append(trouble)
    for (hand, step, alter, shift), group in by_confusion.items():
        places = {trouble.note for trouble in group}
        if abs(shift) > 2 or len(places) < 2:
            continue
        alike = [
            note
            for note in case.heard.sheet.expected
            if note.hand == hand
            and (note.pitch.step, note.pitch.alter) == (step, alter)
            and note.id not in case.heard.not_reached
        ]
        if len(places) > 0.5 * len(alike):
            written = case.note(group[0])
            yield Observation(
                "misread",
                group[0].onset,
                group[-1].onset,
                60.0 + 5.0 * min(len(places), 6),
                {"places": len(places), "of": len(alike)},
                hand,
                tuple(sorted({trouble.note for trouble in group if trouble.note})),
                {"written": (step, alter), "played": spell(case.heard.sheet.piece, written.midi + shift, written)},
            )


def wrong_all_over(case: Case) -> Iterator[Observation]:
    """Observe wrong notes that no one cause explains, scattered over measures: how many, and where they crowd."""
    explained = _explained_by(case, misread, octave, one_key_off)
    wrong = {
        trouble.note: trouble.onset
        for trouble in case.troubles
        if trouble.kind == "wrong"
        and trouble.note not in explained
        and not case.put_right(trouble.note, trouble.run)
    }
    sheet = case.heard.sheet
    measures = Counter(sheet.measure_number(onset) for onset in wrong.values())
    many = case.lenience * max(_MANY_WRONG, _MANY_WRONG_SHARE * len(sheet.expected))
    if len(wrong) < many or len(measures) < _MANY_MEASURES:
        return
    crowd = _crowd(case, measures)
    here = sum(measures[number] for number in crowd)
    hands = {sheet.piece.by_id[note].hand for note in wrong if note}
    hand = hands.pop() if len(hands) == 1 else None
    evidence: Evidence = {"count": len(wrong), "measures": len(measures), "here": here}
    if here >= _FEWEST_IN_CROWD:
        start, end = sheet.span_of_measure(crowd[0])[0], sheet.span_of_measure(crowd[-1])[1]
        yield Observation("wrong_all_over", start, end, 52.0, evidence, hand)
    else:
        yield Observation("wrong_scattered", min(wrong.values()), max(wrong.values()), 52.0, evidence, hand)


def _crowd(case: Case, wrong: Counter[int]) -> list[int]:
    """Return the neighbouring measures, an eighth of the passage and four at most, that have most wrong notes."""
    numbers = list(dict.fromkeys(case.heard.sheet.measure_number(onset) for onset in case.heard.sheet.onsets))
    width = max(1, min(_WIDEST_CROWD, len(numbers) // 8))
    windows = [numbers[start : start + width] for start in range(len(numbers) - width + 1)]
    return max(windows, key=lambda window: sum(wrong[number] for number in window))


def wrong_notes(case: Case) -> Iterator[Observation]:
    """Observe wrong and missing notes of one hand in one measure, where they were not a stumble."""
    told = {trouble for spot in _repeated(case) for trouble in spot.troubles}
    off = _explained_by(case, octave, one_key_off)
    for kind, single, base in (
        ("wrong", "wrong_notes", 30.0),
        ("left_out", "left_out", 26.0),
        ("corrected", "corrected", 24.0),
    ):
        groups: dict[tuple[int, Hand], list[Trouble]] = defaultdict(list)
        for trouble in case.troubles:
            if trouble.kind == kind and trouble.hand and trouble not in told and trouble.note not in off:
                groups[case.heard.sheet.measure_number(trouble.onset), trouble.hand].append(trouble)
        for (_, hand), group in groups.items():
            count = len({trouble.note for trouble in group})
            yield Observation(
                single if count > 1 else f"{single.removesuffix('s')}_once",
                group[0].onset,
                group[-1].onset,
                PUT_RIGHT
                if all(case.put_right(one.note, one.run) for one in group)
                else base + 5.0 * min(count, 4),
                {"count": count} | _semitones_off(case, group[0]),
                hand,
                tuple(dict.fromkeys(trouble.note for trouble in group if trouble.note)),
                _confused(case, group[0]),
            )


def added_notes(case: Case) -> Iterator[Observation]:
    """Observe keys that stand for no written note, when there are many: fingers brushing their neighbours.

    A row of such keys is none of that: something else was tried out.
    """
    events = case.heard.alignment.events
    rows = (list(row) for added, row in groupby(events, key=lambda event: event.status == "added") if added)
    added = [event for row in rows if len(row) < _TRIED_OUT for event in row]
    if len(added) < max(3.0, 0.04 * case.lenience * len(events)):
        return
    onsets = {struck.played.event: struck.onset for one in case.heard.passes for struck in one.struck}
    before = [max((e for e in onsets if e <= event.event), default=None) for event in added]
    measures = Counter(case.heard.sheet.measure_number(onsets[e]) for e in before if e is not None)
    if measures:
        number, count = measures.most_common(1)[0]
        start, end = case.heard.sheet.span_of_measure(number)
        yield Observation("added", start, end, 20.0 + min(len(added), 10), {"count": len(added), "here": count})


def stops_all_over(case: Case) -> Iterator[Observation]:
    """Observe many places with a hesitation or a stop: the tempo is too fast for now, or the passage too long."""
    halting = ("hesitation", "stop", "corrected")
    halted = [spot for spot in case.spots if any(trouble.kind in halting for trouble in spot.troubles)]
    quarters = case.last - case.first
    tempo = case.number("tempo")
    if tempo is None or len(halted) < 4 or len(halted) < quarters / (8 * case.lenience):
        return
    slower = 0.75 * tempo
    yield Observation(
        "stops_all_over" if slower >= _SLOWEST else "stops_all_over_slow",
        halted[0].start,
        halted[-1].end,
        55.0 + min(len(halted), 10),
        {"places": len(halted), "tempo": round(tempo), "slower": round(slower)},
    )


def _explained_by(case: Case, *observers: Callable[[Case], Iterator[Observation]]) -> set[str]:
    """Return the ids of the notes for which one of these observers names a cause."""
    return {note for observer in observers for one in observer(case) for note in one.notes}


def _repeated(case: Case) -> list[Spot]:
    return [spot for spot in case.spots if spot.times >= 2]


def _usual_mistake(case: Case, spot: Spot) -> Trouble | None:
    """Return the trouble of a note that got the same wrong key in two passes or more."""
    wrong = [*spot.of_kind("wrong"), *spot.of_kind("corrected")]
    counts = Counter((trouble.note, case.key(trouble)) for trouble in wrong)
    usual = max(wrong, key=lambda trouble: counts[trouble.note, case.key(trouble)], default=None)
    return usual if usual and counts[usual.note, case.key(usual)] >= 2 else None


def _confused(case: Case, trouble: Trouble) -> dict[str, tuple[str, int]]:
    """Return the pitch that was written, and the one that was played where a key was struck for it."""
    written = case.note(trouble)
    pitches = {"written": (written.pitch.step, written.pitch.alter)}
    if trouble.event is not None:
        pitches["played"] = spell(case.heard.sheet.piece, case.key(trouble), written)
    return pitches


def _semitones_off(case: Case, trouble: Trouble) -> Evidence:
    return {} if trouble.event is None else {"semitones_off": case.key(trouble) - case.note(trouble).midi}
