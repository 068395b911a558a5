"""What Humdrum kern says beside its notes: which spines share a staff, and where its rhythm does not add up.

Source: D. Huron, The Humdrum Toolkit: Reference Manual, **kern and its tandem interpretations.
"""

from __future__ import annotations

import re

from counterpane.errors import UnreadableScore
from counterpane.model.piece import Hand
from counterpane.score.durations import integer

_BAD_RHYTHM = re.compile(r"Inconsistent rhythm analysis occurring near line (\d+)")
_TURN = re.compile(r"(?<![Ss$])([S$])(?![Ss$])")
_BARLINE = re.compile(r"^=+(\d+)")


def hands_of_spines(text: str) -> dict[int, Hand]:
    """Return the hand of each staff, from the top, where *staff signs put the spines on exactly two staves.

    Spines run from low to high, so the last one is the top staff; the hand follows the sign, staff 1 being the
    right one's. Empty where the file does not say it.
    """
    kinds: list[str] = []
    for line in text.split("\n"):
        fields = line.split("\t")
        if line.startswith("**"):
            kinds = fields
        elif line.startswith("*") and "*staff" in line and len(fields) == len(kinds):
            signs = [sign for kind, sign in zip(kinds, fields, strict=True) if kind == "**kern"]
            break
        elif line[:1] not in {"*", "!", ""}:
            return {}
    else:
        return {}
    if len(set(signs)) != 2 or not all(sign.startswith("*staff") for sign in signs):
        return {}
    right = min(signs, key=lambda sign: integer(sign.removeprefix("*staff"), 99))
    return {place: "right" if sign == right else "left" for place, sign in enumerate(reversed(signs), 1)}


def double_turns(text: str) -> str:
    """Write the turn signs S and $ twice, as verovio expects them; it takes a single one for a mistake."""
    return "\n".join(
        line if line[:1] in {"*", "!", "="} else _TURN.sub(r"\1\1", line) for line in text.split("\n")
    )


def tempo_of(text: str) -> float | None:
    """Return the first *MM mark, in quarters a minute."""
    found = re.search(r"^(?:.*\t)?\*MM(\d{1,3}(?:\.\d{1,3})?)(?:\t|$)", text, re.MULTILINE)
    return float(found[1]) or None if found else None


def check_spines(text: str, name: str) -> None:
    """Raise `UnreadableScore` where a line has more or fewer fields than spines run there, with the line.

    Spines split (*^), join (*v, neighbours), end (*-) and begin (*+) as the Humdrum syntax has it.
    """
    spines = 0
    for number, line in enumerate(text.split("\n"), 1):
        if not line or line.startswith("!!"):
            continue
        fields = line.split("\t")
        if spines == 0:
            if line.startswith("**"):
                spines = len(fields)
            continue
        if len(fields) != spines:
            raise UnreadableScore(
                f"line {number} has {len(fields)} of the {spines} fields that the spines need; correct it.",
                file=name,
                measure=_measure_before(text, number),
            )
        if line.startswith("*"):
            spines = _spines_after(fields)


def refuse_bad_rhythm(text: str, log: str, name: str) -> None:
    """Raise `UnreadableScore` when the reader noticed that spines disagree about time, with the place."""
    found = _BAD_RHYTHM.search(log)
    if found:
        raise UnreadableScore(
            f"the lengths in the spines do not add up near line {found[1]}; correct them there.",
            file=name,
            measure=_measure_before(text, int(found[1])),
        )


def _spines_after(fields: list[str]) -> int:
    count, joining = 0, False
    for sign in fields:
        if sign == "*v" and joining:
            continue
        joining = sign == "*v"
        count += {"*^": 2, "*+": 2, "*-": 0}.get(sign, 1)
    return count


def _measure_before(text: str, line: int) -> int | None:
    numbers = [match[1] for row in text.split("\n")[:line] if (match := _BARLINE.match(row))]
    return int(numbers[-1][:6]) if numbers else None
