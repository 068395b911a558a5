"""Alignment of what was played with what is written, made for practice.

`align` finds for every struck key the note that it played, replaced or reached, and for every written note
what became of it, however often the player stopped, went back, skipped or began again. Stages: `written`
lays the passage out, `path` finds the likeliest path through it, `runs` cuts the path at jumps, `pairing`
pairs keys with notes within a run, `verdict` says it in the words of the model.
"""

from __future__ import annotations

from counterpane.listening.alignment.aligner import align

__all__ = ["align"]
