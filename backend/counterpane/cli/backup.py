"""`counterpane backup`: a copy of a studio, made while it is in use."""

from __future__ import annotations

import json
from pathlib import Path

import click

from counterpane.store.backup import backup


@click.command("backup")
@click.argument("target", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--studio", required=True, type=click.Path(path_type=Path, dir_okay=False), help="The studio file.")
def command(studio: Path, target: Path) -> None:
    """Copy a studio to TARGET, whether it is being served or not, and check the copy.

    A backup holds families' data: keep it where nobody else reads it, and delete backups older than an erasure.
    """
    size = backup(studio, target)
    click.echo(json.dumps({"backup": str(target), "bytes": size}))
