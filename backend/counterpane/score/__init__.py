"""Reading and engraving scores: the only door to verovio."""

from counterpane.score.decisions import with_decisions
from counterpane.score.document import ScoreDocument
from counterpane.score.engraving import Engraving, engrave
from counterpane.score.reading import read_score, read_score_bytes

__all__ = ["Engraving", "ScoreDocument", "engrave", "read_score", "read_score_bytes", "with_decisions"]
