"""Alignment of what was played with what is written, made for practice.

`align` finds for every struck key the note that it played, replaced or reached, and for every written note
what became of it, however often the player stopped, went back, skipped or began again. Stages: `written`,
`positions` and `emissions` lay the passage out, `path` finds the likeliest path through it, `runs` cuts the path
at jumps, `noodling` sets aside what plays no part of the passage, `pairing` pairs keys with notes within a run,
`slips` explains what is left (`explanations`: `wrong_keys`, `held`, `restruck`; `assignment`) and, with that in
view, asks once more which stroke played a note (`which_stroke`), `verdict` says it in the words of the model. How
long keys were waited for is graded in `waits`.
What does not fit so is read once more: in both hands, elsewhere on the keyboard (`transposition`), or with the
hands brought together (`apart`).

An ornament that is written may be played or not, both right: its extra keys, and those of grace notes, are as
written with the ornamented note. A wrong key that is put right at once is a replacement of the note that follows.
An abandoned start breaks off inside a measure and is begun again from where it began, or from within that measure;
the shortest is a note that is struck once more after a pause, for which nobody needs to speak of a jump.
"""

from __future__ import annotations

from counterpane.listening.alignment.aligner import align

__all__ = ["align"]
