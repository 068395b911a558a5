"""From measures to findings: everything observed, ranked by what would help most now, in words.

Three rules keep the list honest and useful.
1. A cause is told once: what a rhythm explains is not also called uneven; what stumbling explains is not also
   told note by note; where stops are all over, single ones are for the teacher alone.
2. Nothing is reported that cannot be heard: every limit in the observers lies above the just noticeable
   displacement of Friberg and Sundberg (1995), and a melody lead of about 30 ms (Goebl 2001) is no fault.
3. A student gets three at most, each about another place or another matter: two things to work on and one true
   word about what went right, where there is one. What the last time through put right is praised, not blamed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from counterpane.listening import (
    findings_notes,
    findings_position,
    findings_route,
    findings_shape,
    findings_time,
)
from counterpane.listening.findings_praise import praise
from counterpane.listening.measures import Heard, Measured
from counterpane.listening.observations import Case, Observation
from counterpane.listening.troubles import Trouble, spots
from counterpane.listening.wording import Wording
from counterpane.model.analysis import Analysis
from counterpane.model.assessment import Finding
from counterpane.model.practice import Decision, Level

MOST_FOR_STUDENT = 3
FAULT = 10.0
SERIOUS = 20.0
_JUST_AFTER = 1.0
Observer = Callable[[Case], Iterator[Observation]]

OBSERVERS: tuple[Observer, ...] = (
    findings_notes.transposed,
    findings_notes.stumbles,
    findings_notes.misread,
    findings_position.octave,
    findings_position.one_key_off,
    findings_notes.stops_all_over,
    findings_notes.wrong_all_over,
    findings_notes.wrong_notes,
    findings_notes.added_notes,
    findings_route.hands,
    findings_route.not_all_played,
    findings_route.skipped,
    findings_time.hesitations,
    findings_time.cut_short,
    findings_time.rhythm,
    findings_time.pairs,
    findings_time.uneven,
    findings_time.hand_behind,
    findings_time.hands_apart,
    findings_time.tempo,
    findings_time.too_fast,
    findings_shape.entries,
    findings_shape.sequences,
    findings_shape.balance,
    findings_shape.touch,
    findings_shape.flexibility,
    praise,
)

# Findings about one place: a student hears of each place once.
_PLACED = (
    "stumble",
    "same_wrong_note",
    "wrong_note",
    "left_out",
    "hesitation",
    "stop",
    "cut_short",
    "corrected",
    "skipped",
)
# Findings that explain every wrong note among theirs.
_ONE_CAUSE = ("misread", "octave", "beside")


def find(
    heard: Heard,
    measures: dict[str, Measured],
    troubles: tuple[Trouble, ...],
    analysis: Analysis,
    decisions: tuple[Decision, ...],
    level: Level,
    wording: Wording,
) -> tuple[Finding, ...]:
    """Return all findings of an attempt, those that would help most first."""
    case = Case(heard, measures, troubles, spots(troubles), analysis, decisions, level)
    seen = [seen for observer in OBSERVERS for seen in observer(case)]
    ranked = sorted(_told_once(seen), key=lambda observation: -observation.weight)
    return tuple(_in_words(heard, observation, wording) for observation in ranked)


def only_finding(heard: Heard, kind: str, wording: Wording, **evidence: float | str) -> tuple[Finding, ...]:
    """Return the one finding of an attempt that cannot be assessed: nothing played, or another piece."""
    first, last = heard.sheet.onsets[0], heard.sheet.onsets[-1]
    return (_in_words(heard, Observation(kind, first, last, 100.0, dict(evidence)), wording),)


def for_student(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the at most three findings that a student is told, in order."""
    faults = _each_matter(finding for finding in findings if finding.weight >= FAULT)
    if not faults:
        return _each_matter(findings)[:MOST_FOR_STUDENT]
    praised = tuple(finding for finding in findings if finding.kind.startswith("praise"))[:1]
    return faults[: MOST_FOR_STUDENT - len(praised)] + praised


def _each_matter(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    chosen: list[Finding] = []
    for finding in findings:
        if not any(_same_matter(finding, told) for told in chosen):
            chosen.append(finding)
    return tuple(chosen)


def _same_matter(one: Finding, other: Finding) -> bool:
    if other.kind.startswith("stops_all_over") and one.kind.startswith(("hesitation", "stop", "corrected")):
        return True
    if _is_placed(one) and _is_placed(other):
        return one.place.measure <= other.end.measure and other.place.measure <= one.end.measure
    return one.kind.split("_")[0] == other.kind.split("_")[0] and one.kind[:6] != "praise"


def _is_placed(finding: Finding) -> bool:
    return finding.kind.startswith(_PLACED) and not finding.kind.startswith(("stops_all_over", "stopped_early"))


def _told_once(seen: list[Observation]) -> list[Observation]:
    """Leave out what another observation explains or contradicts."""
    kinds = {observation.kind for observation in seen}
    rhythm_hands = {observation.hand for observation in seen if observation.kind.startswith("rhythm")}
    one_cause = {
        note for observation in seen if observation.kind.startswith(_ONE_CAUSE) for note in observation.notes
    }
    beside = {note for observation in seen if observation.kind.startswith("beside") for note in observation.notes}
    apart = [one for one in seen if one.kind in ("hands_apart_here", "hand_behind")]
    skipped = [one for one in seen if one.kind.startswith("skipped")]
    elsewhere = [(one.start, one.end + _JUST_AFTER) for one in apart]
    elsewhere += [(one.start, one.start + float(one.evidence["quarters"])) for one in skipped]
    busy = any(observation.weight >= SERIOUS for observation in seen)

    def explained(observation: Observation) -> bool:
        kind = observation.kind
        if kind.startswith("uneven"):
            return observation.hand in rhythm_hands or bool(apart)
        if kind.startswith(("hesitation", "cut_short")):
            return any(start <= observation.start <= end for start, end in elsewhere)
        if kind.startswith(("wrong_note", "same_wrong_note")):
            return bool(observation.notes) and set(observation.notes) <= one_cause
        if kind == "misread":
            return set(observation.notes) <= beside
        return (
            (kind.startswith("hands_apart") and "hand_behind" in kinds)
            or (kind.startswith("stops_all_over") and "too_fast" in kinds and "rushing" not in kinds)
            or (kind in ("too_fast", "faster") and "rushing" in kinds)
            or (kind == "mechanical" and busy)
            or (kind.startswith(("praise_notes", "praise_slow", "praise_tempo")) and "added" in kinds)
            or (kind.startswith("praise_even") and any(other.startswith(("uneven", "rhythm")) for other in kinds))
        )

    return [observation for observation in seen if not explained(observation)]


def _in_words(heard: Heard, observation: Observation, wording: Wording) -> Finding:
    start, end = heard.sheet.place(observation.start), heard.sheet.place(observation.end)
    text, next_step = wording.say(observation, start, end)
    return Finding(
        observation.kind,
        observation.hand,
        start,
        end,
        text,
        next_step,
        observation.notes,
        round(observation.weight, 1),
        observation.evidence,
    )
