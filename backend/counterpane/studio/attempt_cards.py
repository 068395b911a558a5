"""An attempt as lists show it."""

from __future__ import annotations

from typing import cast

from counterpane.model.piece import Hands
from counterpane.store.attempts import AttemptRow
from counterpane.studio.pages.pieces import AttemptCard


def attempt_card(row: AttemptRow) -> AttemptCard:
    """Return a stored attempt as lists show it."""
    return AttemptCard(
        id=row.id,
        patch_id=row.patch_id,
        step_id=row.step_id,
        hands=cast(Hands, row.hands),
        started_at=row.started_at,
        seconds=row.seconds,
        source=row.source,
        tempo=row.tempo,
        accuracy=row.accuracy,
        met_goals=row.met_goals,
        findings=row.findings,
    )
