"""ABC notation (standard 2.1) as scores, with several voices, inline fields and overlays."""

from counterpane.score.abc.reader import abc_to_sketch

__all__ = ["abc_to_sketch"]
