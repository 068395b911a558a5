"""Reading and engraving scores: the only door to music21 and verovio."""
