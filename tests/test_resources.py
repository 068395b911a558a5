"""What ships with the package is found in a checkout."""

from __future__ import annotations

from pathlib import Path

import pytest

from counterpane import resources
from counterpane.errors import CounterpaneError

_ROOT = Path(__file__).parents[1]


def test_a_checkout_gives_its_own_drills_and_demo() -> None:
    """A teacher who edits drills/ in a checkout sees the change without installing anything."""
    assert resources.drills_folder() == _ROOT / "drills"
    assert resources.demo_folder() == _ROOT / "demo"


def test_a_missing_folder_is_told_with_both_places_and_the_remedy(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Neither wheel nor checkout: the sentence says where it looked and what to do."""
    monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "site" / "counterpane")
    monkeypatch.setattr(resources, "_CHECKOUT", tmp_path)
    with pytest.raises(CounterpaneError, match=r"_data/pwa nor .*dist exists\. Build the page first"):
        resources.page_folder()
