"""What a teacher would find with a pencil: one question a module."""

from counterpane.analysis.pipeline import analyse

__all__ = ["analyse"]
