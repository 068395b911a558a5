"""Counterpane: from a two-part score to graded drills, attentive listening and a practice log."""

__version__ = "0.1.0"
