"""`counterpane restore`: a backup put in place."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

from counterpane.store.backup import restore


@click.command("restore")
@click.argument("backup", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--studio", required=True, type=click.Path(path_type=Path, dir_okay=False), help="The studio file.")
@click.option(
    "--replace", is_flag=True, help="Put the backup in place of a studio that is there; it is kept beside."
)
def command(backup: Path, studio: Path, replace: bool) -> None:
    """Check BACKUP and put it in place as the studio file."""
    moved = restore(backup, studio, replace=replace, now=datetime.now().astimezone())
    if moved is not None:
        click.echo(f"The earlier studio is kept at {moved}.", err=True)
    click.echo(json.dumps({"studio": str(studio), "kept": str(moved) if moved else None}))
