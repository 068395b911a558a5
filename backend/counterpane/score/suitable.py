"""Whether what was read is a keyboard piece: not percussion, not an ensemble, not without notes."""

from __future__ import annotations

import re
from collections.abc import Sequence

from counterpane.score import limits
from counterpane.score.heads import Staff
from counterpane.score.refusals import ensemble, no_notes, percussion_only

# Names of instruments that are no keyboard, as they stand on parts in English, Italian, German and French.
_OTHER_INSTRUMENTS = re.compile(
    r"\b(violins?|violas?|violini?|violoncello|violoncelli|violone|violons?|cello|cellos|contrabass|double bass|"
    r"geigen?|bratschen?|flutes?|fl[öo]ten?|flauto|flauti|fl[ûu]te|oboes?|oboi|hautbois|clarinets?|klarinetten?|"
    r"clarinetto|bassoons?|fagotte?|fagotto|horns?|corni?|corno|trumpets?|trompeten?|tromb[ae]|trombones?|posaunen?|"
    r"tuba|saxophones?|guitars?|gitarren?|lutes?|harp|harfe|recorders?|timpani|pauken|drums?|drumset|percussion|"
    r"glockenspiel|xylophone|marimba)\b",
    re.IGNORECASE,
)
_OTHER_PROGRAMS = range(24, 112)
"""General MIDI programs, counted from 0, of strings, winds, voices and synthesisers; below are keyboards."""


def check_staves(staves: Sequence[Staff], name: str) -> None:
    """Raise `UnsuitableScore` when the staves are those of an ensemble or of percussion."""
    if staves and all(staff.percussion for staff in staves):
        raise percussion_only(name)
    if len(staves) > limits.STAVES or any(staff.percussion for staff in staves):
        raise ensemble(f"{len(staves)} staves{_with_percussion(any(staff.percussion for staff in staves))}", name)
    others = sorted({match[0].lower() for staff in staves if (match := _OTHER_INSTRUMENTS.search(staff.label))})
    if others and len({staff.part for staff in staves}) > 1:
        raise ensemble(f"parts for {' and '.join(others)}", name)


def check_programs(programs: Sequence[int], percussion: bool, name: str) -> None:
    """Raise `UnsuitableScore` when MIDI parts, one program (from 0) each, are those of an ensemble."""
    different = set(programs) & set(_OTHER_PROGRAMS)
    if len(programs) > limits.STAVES or percussion or (len(programs) > 1 and len(different) > 1):
        raise ensemble(f"{len(programs)} parts{_with_percussion(percussion)}", name)


def check_notes(pitched: int, unpitched: int, name: str) -> None:
    """Raise `UnsuitableScore` when no note has a pitch, or when there is no note at all."""
    if pitched == 0:
        raise percussion_only(name) if unpitched else no_notes(name)


def _with_percussion(percussion: bool) -> str:
    return " and percussion" if percussion else ""
