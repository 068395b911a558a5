"""How big a score may be. A keyboard piece stays far below; what lies above is a mistake or an attack."""

from __future__ import annotations

MEGABYTE = 1024 * 1024

FILE_BYTES = 10 * MEGABYTE
"""The most bytes a file may have as it is brought in."""

MIDI_BYTES = MEGABYTE
"""The most bytes of a MIDI file; as many notes as are allowed take a quarter of that."""

ABC_CHARACTERS = 262_144
"""The most characters of music code in an ABC tune; as many notes as are allowed take a third of that."""

UNPACKED_BYTES = 40 * MEGABYTE
"""The most bytes that the score inside a zip (.mxl) may unpack to."""

NESTING = 60
"""How deep XML elements may lie inside each other; notation needs fewer than 25."""

NOTES = 30_000
"""The most noteheads of one piece."""

STAVES = 4
"""The most staves, one part each, that are still read as one keyboard piece."""

MEASURES = 5_000
"""The most measures that a MIDI file or an ABC tune may last."""
