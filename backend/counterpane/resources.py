"""Finds drills/ and the built PWA, in an installed wheel or in a checkout."""

from __future__ import annotations

from pathlib import Path

from counterpane.errors import CounterpaneError

_PACKAGE = Path(__file__).resolve().parent
_CHECKOUT = _PACKAGE.parent.parent


def drills_folder() -> Path:
    """Return the folder that holds the ladders, goals and wording as TOML."""
    return _find("drills", _CHECKOUT / "drills", "Install the package again, or run from a checkout.")


def page_folder() -> Path:
    """Return the folder that holds the built page (index.html, scripts, service worker)."""
    return _find("pwa", _CHECKOUT / "pwa" / "dist", "Build the page first with `python3 demo --build-only`.")


def demo_folder() -> Path:
    """Return the folder that holds the demo pieces, the simulated student and the seeding of a studio."""
    return _find("demo", _CHECKOUT / "demo", "Install the package again, or run from a checkout.")


def _find(name: str, in_checkout: Path, remedy: str) -> Path:
    in_wheel = _PACKAGE / "_data" / name
    if in_wheel.is_dir():
        return in_wheel
    if (_CHECKOUT / "pyproject.toml").is_file() and in_checkout.is_dir():
        return in_checkout
    raise CounterpaneError(f"Neither {in_wheel} nor {in_checkout} exists. {remedy}")
