"""What is heard, what is ordinary, what is a fault: one table of limits, each with its source.

Limits in milliseconds unless the name says otherwise. Where a limit is marked "common practice, no source",
it is a teacher's rule of thumb and may be changed here in one place.

Sources
    Friberg, A. and Sundberg, J. (1995), "Time discrimination in a monotonic, isochronous sequence", Journal of
    the Acoustical Society of America 98: the displacement of one note that is just heard is about 6 ms for
    intervals under about 240 ms and about 2.5 % of longer ones.
    Goebl, W. (2001), "Melody lead in piano performance: expressive device or artifact?", JASA 110: a melody
    note about 30 ms before the others is ordinary expression.
    Jabusch, H.-C. (2006): thirteen professional pianists, C-major scales in sixteenths at quarter = 120 (125 ms
    a note): mean SD of inter-onset intervals 8.1 ms upward, 8.9 ms downward.
    MIDI 1.0 Detailed Specification: 31,250 baud, ten bits a byte, three bytes a note: 0.96 ms a note.
"""

from __future__ import annotations

from typing import TypeVar

from counterpane.model.practice import Level

Number = TypeVar("Number", float, int)

WIRE_MS_A_NOTE = 0.96
MELODY_LEAD_MS = 30.0
# Between the professionals' 8.9 ms and the plainly uneven 30 ms the geometric mean is 16.3 ms.
EVEN_SCALE_SD_MS = 16.0
# Motor spread grows with the interval; 6 % of it is "common practice, no source" for longer notes.
EVEN_SHARE = 0.06

# Common practice, no source, from here on.
HESITATION_MS = 150.0
HESITATION_SHARE = 0.3
SEPARATION_SHARE = 0.15
SEPARATION_MS = 30.0
STRESS_VELOCITY = 8.0
LEGATO_SHARE = 0.06
STACCATO_SHARE = 0.45
BALANCE_VELOCITY = 4.0
LOUDNESS_STEP = 4.0

# How much more than the limit for "intermediate" each level is allowed before a finding is made of it.
LENIENCE: dict[Level, float] = {"early": 1.5, "intermediate": 1.0, "advanced": 0.75}


def just_heard_ms(interval_ms: float) -> float:
    """Return the displacement in ms that is just heard at an inter-onset interval (Friberg and Sundberg 1995)."""
    return max(6.0, 0.025 * interval_ms)


def even_limit_ms(interval_ms: float) -> float:
    """Return the SD of inter-onset intervals in ms up to which notes of this interval are called even."""
    return max(EVEN_SCALE_SD_MS, EVEN_SHARE * interval_ms)


def hesitation_limit_ms(expected_ms: float, quarter_ms: float) -> float:
    """Return how much longer than expected an interval must be, in ms, to be a hesitation."""
    return max(HESITATION_MS, HESITATION_SHARE * min(expected_ms, quarter_ms))
