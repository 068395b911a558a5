"""Whether what was read is a keyboard piece: not percussion, not an ensemble, not without notes."""

from __future__ import annotations

import re
from collections.abc import Sequence

from counterpane.errors import UnsuitableScore
from counterpane.score import limits
from counterpane.score.heads import Staff

# Names of instruments that are no keyboard, as they begin on parts in English, Italian, German and French.
_OTHER_INSTRUMENTS = re.compile(
    r"\b(violin|viola\b|violon|cello|contrabass|double bass|geige|bratsche|flute|fl[öo]te|flauto|oboe|hautbois|clarinet|"
    r"klarinette|bassoon|fagott|horn\b|corno|trumpet|trompete|tromba|trombone|posaune|tuba|sax|guitar|gitarre|"
    r"lute|harp\b|harfe|recorder|timpani|pauken|drum|percussion|glockenspiel|xylophone|marimba)",
    re.IGNORECASE,
)
_KEYBOARD_PROGRAMS = range(24)
"""General MIDI programs counted from 0: pianos and harpsichord 0-7, chromatic percussion 8-15, organs 16-23."""


def check_staves(staves: Sequence[Staff], name: str) -> None:
    """Raise `UnsuitableScore` when the staves are those of an ensemble or of percussion."""
    if staves and all(staff.percussion for staff in staves):
        raise UnsuitableScore(
            "the score is for percussion only, without pitches; choose a keyboard piece.", file=name
        )
    others = sorted({match[0].lower() for staff in staves if (match := _OTHER_INSTRUMENTS.search(staff.label))})
    if len(staves) > limits.STAVES or any(staff.percussion for staff in staves):
        raise UnsuitableScore(
            f"the score has {len(staves)} staves, so it is for an ensemble; choose a keyboard piece, or save the "
            "keyboard part alone.",
            file=name,
        )
    if others and len(staves) > 1:
        raise UnsuitableScore(
            f"the score has parts for other instruments ({', '.join(others)}); choose a keyboard piece, or save the "
            "keyboard part alone.",
            file=name,
        )


def check_notes(pitched: int, unpitched: int, name: str) -> None:
    """Raise `UnsuitableScore` when there is no note with a pitch, or where unpitched ones are mixed in."""
    if pitched:
        return
    if unpitched:
        raise UnsuitableScore(
            "the score is for percussion only, without pitches; choose a keyboard piece.", file=name
        )
    raise UnsuitableScore("the score has no notes; choose one that has music in it.", file=name)
