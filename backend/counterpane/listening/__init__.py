"""From key events to findings: alignment, measures, wording."""
