"""A simulated student: plays a passage with faults that are known one by one.

`simulate(piece, passage, seed, faults)` returns a `Session`: the key events as a keyboard would send them, what
each of them truly was, and the faults as data. The same seed gives the same session. Nothing here is shared
with the aligner that is tested against it.
"""

from __future__ import annotations

from demo.simulation.faults import FAULT_KINDS, Faults
from demo.simulation.session import Fault, Session, TrueEvent, TrueJump
from demo.simulation.student import simulate

__all__ = ["FAULT_KINDS", "Fault", "Faults", "Session", "TrueEvent", "TrueJump", "simulate"]
