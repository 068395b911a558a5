"""Build hook: a wheel carries drills/, demo/ and the built page; an editable install reads the checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hatchling.builders.config import BuilderConfig
from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class WheelData(BuildHookInterface[BuilderConfig]):
    """Put drills/, demo/ and pwa/dist/ at counterpane/_data in a standard wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Add the data folders, or stop when the page has not been built."""
        if version == "editable":
            return
        root = Path(self.root)
        if not (root / "pwa" / "dist" / "index.html").is_file():
            raise SystemExit("pwa/dist is missing: build the page first with `python3 demo --build-only`.")
        for source, name in ((root / "drills", "drills"), (root / "pwa" / "dist", "pwa")):
            build_data["force_include"][str(source)] = f"counterpane/_data/{name}"
        for path in sorted((root / "demo").rglob("*")):
            if path.is_file() and not {"__pycache__", ".studio"} & set(path.parts):
                target = path.relative_to(root).as_posix()
                build_data["force_include"][str(path)] = f"counterpane/_data/{target}"
