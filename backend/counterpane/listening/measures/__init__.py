"""The measures of an attempt, one a module; `measure` takes them all.

Each module's docstring is its contract: definition, unit, formula, conventions, source, what it cannot know.
"""

from __future__ import annotations

from counterpane.listening.measures.accuracy import accuracy
from counterpane.listening.measures.articulation import articulation
from counterpane.listening.measures.balance import balance
from counterpane.listening.measures.entries import entries
from counterpane.listening.measures.evenness import evenness
from counterpane.listening.measures.flexibility import flexibility
from counterpane.listening.measures.heard import Heard, hear
from counterpane.listening.measures.hesitations import hesitations
from counterpane.listening.measures.sequences import sequences
from counterpane.listening.measures.shape import Measured
from counterpane.listening.measures.tempo import tempo
from counterpane.listening.measures.togetherness import togetherness
from counterpane.model.analysis import Analysis
from counterpane.model.practice import Decision

__all__ = ["Heard", "Measured", "hear", "measure"]


def measure(heard: Heard, analysis: Analysis, decisions: tuple[Decision, ...] = ()) -> dict[str, Measured]:
    """Return every measure of an attempt by its name, JSON-ready; one that cannot be taken says why."""
    return {
        "accuracy": accuracy(heard),
        "evenness": evenness(heard),
        "hesitations": hesitations(heard),
        "tempo": tempo(heard),
        "togetherness": togetherness(heard),
        "articulation": articulation(heard),
        "entries": entries(heard, analysis),
        "sequences": sequences(heard, analysis, decisions),
        "balance": balance(heard, analysis),
        "flexibility": flexibility(heard),
    }
