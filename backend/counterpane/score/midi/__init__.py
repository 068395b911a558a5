"""Standard MIDI files as scores: what was written is worked out from ticks and note numbers."""

from counterpane.score.midi.notation import midi_to_sketch

__all__ = ["midi_to_sketch"]
