"""Writes `tests/vectors/following.json`, the table that holds the Python and TypeScript followers to one answer.

Run `python -m tests.listening.following_vectors` after a deliberate change of the follower, read the difference,
and commit it. The first cases are short enough to be checked by a person; what they must say is stated again, by
hand, in `test_following.py`. The last ones are sessions of the simulated student.

Each case: `notes` to follow (id, hand, onset in quarters, midi, ornament_keys), `measure_starts` (onsets in
quarters), and `keys` in order of time: time_ms and midi are given; as_written, note, jumped, next_right and
next_left are what the follower answers. The follower uses no times; they are there for the reader.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from counterpane.listening.following import Line, LineNote, begin, follow, line_of, prepare
from counterpane.model.piece import Hand
from counterpane.model.practice import Passage
from counterpane.units import pitch_from_name
from demo.simulation import FAULT_KINDS, simulate
from tests.listening.composer import compose

TABLE = Path(__file__).parents[1] / "vectors" / "following.json"

_RIGHT = "C5 D5 E5 F5 G5 A5 B5 C6 | B5 A5 G5 F5 E5 D5 C5 B4 | C5 E5 G5 E5 F5 A5 F5 D5 | C5"
_LEFT = "C3 . E3 . G3 . E3 . | G3 . F3 . E3 . G3 . | C3 . C3 . F3 . G3 . | C3"


def two_hands() -> list[LineNote]:
    """Four measures of 4/4: eighths in the right hand, quarters in the left."""
    return [*_written("right", _RIGHT), *_written("left", _LEFT)]


def _written(hand: Hand, text: str) -> list[LineNote]:
    names = text.replace("|", "").split()
    return [
        LineNote(f"{hand[0]}{place}", hand, place / 2, pitch_from_name(name).midi)
        for place, name in enumerate(names)
        if name != "."
    ]


_MEASURES = [0.0, 4.0, 8.0, 12.0]
_SLOW = "C5 C3 D5 E5 E3 F5 G5 G3 A5 B5 E3 C6"

HAND_CASES: tuple[tuple[str, list[LineNote], str], ...] = (
    ("both hands as written", two_hands(), f"{_SLOW} B5 G3 A5 G5 F3"),
    ("the hands in either order", two_hands(), "C3 C5 D5 E3 E5 F5 G3 G5"),
    ("the right hand alone", two_hands(), "C5 D5 E5 F5 G5 A5 B5 C6 B5 A5"),
    ("the left hand alone", two_hands(), "C3 E3 G3 E3 G3 F3 E3 G3"),
    ("a neighbouring key instead", two_hands(), "C5 C3 D5 F5 E3 F5 G5 G3"),
    ("a wrong key put right", two_hands(), "C5 C3 C#5 D5 E5 E3 F5"),
    ("a note left out", two_hands(), "C5 C3 E5 E3 F5 G5 G3"),
    ("a key added", two_hands(), "C5 C3 D5 Bb2 E5 E3 F5"),
    ("back to the start of the passage", two_hands(), f"{_SLOW} B5 G3 A5 C5 C3 D5 E5 E3 F5"),
    ("a measure again", two_hands(), f"{_SLOW} B5 G3 A5 G5 F3 F5 E5 E3 D5 C5 G3 B4 B5 G3 A5 G5 F3"),
    ("a measure skipped", two_hands(), f"{_SLOW} C5 C3 E5 G5 C3 E5 F5 F3 A5"),
    ("entry in the third measure", two_hands(), "C5 C3 E5 G5 C3 E5 F5 F3 A5"),
    (
        "a trill played out",
        [
            LineNote("r0", "right", 0.0, 72, (70, 71, 72, 73, 74)),
            LineNote("r1", "right", 2.0, 71),
            LineNote("r2", "right", 3.0, 72),
        ],
        "D5 C5 D5 C5 D5 C5 B4 C5",
    ),
    (
        "a chord from any side",
        [LineNote(f"c{midi}", "right", 0.0, midi) for midi in (72, 76, 79)] + [LineNote("d", "right", 1.0, 74)],
        "G5 C5 E5 D5",
    ),
    (
        "one key for both hands",
        [LineNote("r", "right", 0.0, 60), LineNote("l", "left", 0.0, 60), LineNote("r2", "right", 1.0, 62)],
        "C4 D4",
    ),
)


def answers(line: Line, keys: Sequence[int]) -> list[dict[str, Any]]:
    """Return what the follower says about each key."""
    state = begin(line)
    said = []
    for key in keys:
        state, followed = follow(line, state, key)
        said.append(asdict(followed))
    return said


def make_table() -> dict[str, Any]:
    """Return the whole table."""
    cases = []
    for name, notes, text in HAND_CASES:
        keys = [pitch_from_name(each).midi for each in text.split()]
        cases.append(
            _case(name, prepare(notes, _MEASURES), _MEASURES, [(500.0 * n, key) for n, key in enumerate(keys)])
        )
    for seed, kind in enumerate(("clean", "mixed", "restarts", "hard mix", "ornaments", "hands apart")):
        piece, passage = compose(70 + seed, 6, ornaments=0.1, graces=0.03), Passage(1, 6, "both", 80)
        session = simulate(piece, passage, seed, FAULT_KINDS[kind])
        struck = [(round(time, 1), key) for time, status, key, _ in session.raw if status == 0x90]
        starts = [float(measure.onset) for measure in piece.measures]
        cases.append(_case(f"simulated: {kind}", line_of(piece, passage), starts, struck))
    return {"format": 1, "cases": cases}


def _case(name: str, line: Line, starts: Sequence[float], struck: Sequence[tuple[float, int]]) -> dict[str, Any]:
    said = answers(line, [key for _, key in struck])
    keys = [{"time_ms": time, "midi": key, **answer} for (time, key), answer in zip(struck, said, strict=True)]
    return {"name": name, "notes": [asdict(n) for n in line.notes], "measure_starts": list(starts), "keys": keys}


if __name__ == "__main__":
    rows = make_table()
    text = ",\n".join(json.dumps(case) for case in rows["cases"])
    TABLE.write_text(f'{{"format": 1, "cases": [\n{text}\n]}}\n', encoding="utf-8")
