"""`counterpane drills check [FOLDER]`: say whether ladders, goals and wording are in order."""

from __future__ import annotations

import json
from pathlib import Path

import click

from counterpane.practice.drill_folder import check_folder
from counterpane.resources import drills_folder


@click.group()
def command() -> None:
    """Ladders, goals and wording."""


@command.command()
@click.argument("folder", required=False, type=click.Path(exists=True, file_okay=False, path_type=Path))
def check(folder: Path | None) -> None:
    """Check a folder of drills (the one in use without FOLDER); an error names file, line and key."""
    click.echo(json.dumps(check_folder(folder or drills_folder()), indent=2))
